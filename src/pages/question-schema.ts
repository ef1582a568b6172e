import { z } from 'zod';
import { DATA_NAME } from '../plots/chart-spec.ts';
import { strictObject } from '../plots/strict-object.ts';

const dataName = z
  .string()
  .regex(DATA_NAME, { error: 'must name an entry (`rates`) or a table of one (`rates.per_horse`)' });
const scalar = z.union([z.string(), z.number()]);
/** A herd by the name that the page's query gives it. */
const herdName = z.string().min(1);

/** A figure that the page works out: the first row of a table whose cells are these. */
const figure = strictObject({
  of: dataName,
  where: z.record(z.string(), scalar).default({}),
  /** What this way of answering is called: `Counting plainly`. */
  words: z.string().min(1),
});

const shared = {
  ask: z.string().min(1),
  /** A query whose first row says in a column `herd` which herd is open. */
  herd: dataName,
  naive: figure,
  right: figure,
};

const numberQuestion = strictObject({
  ...shared,
  kind: z.literal('number'),
  unit: z.string().optional(),
  digits: z.int().min(0).max(6).default(2),
  answers: z.record(
    herdName,
    strictObject({
      truth: z.number(),
      accept: strictObject({ low: z.number(), high: z.number() }),
      explain: z.string().min(1),
    }),
  ),
});

const choiceQuestion = strictObject({
  ...shared,
  kind: z.literal('choice'),
  /** Of the figures shown beside the answer. */
  unit: z.string().optional(),
  digits: z.int().min(0).max(6).default(2),
  options: z.array(strictObject({ value: scalar, label: z.string().min(1) })).min(2),
  answers: z.record(herdName, strictObject({ truth: scalar, explain: z.string().min(1) })),
});

/** A question about a herd whose truth is known, with room for an answer and a check of it. */
export const questionBody = z
  .discriminatedUnion('kind', [numberQuestion, choiceQuestion])
  .check((context) => {
    const question = context.value;
    const reject = (path: string[], message: string): void => {
      context.issues.push({ code: 'custom', path, message, input: question });
    };
    if (Object.keys(question.answers).length === 0)
      reject(['answers'], 'must hold an answer for at least one herd');
    if (question.kind === 'number') {
      for (const [herd, { truth, accept }] of Object.entries(question.answers)) {
        if (!(accept.low <= truth && truth <= accept.high))
          reject(
            ['answers', herd, 'accept'],
            `must hold the truth ${truth}: ${accept.low} to ${accept.high}`,
          );
      }
    } else {
      const values = question.options.map(({ value }) => value);
      for (const [herd, { truth }] of Object.entries(question.answers)) {
        if (!values.includes(truth))
          reject(['answers', herd, 'truth'], `must be one of the options ${values.join(', ')}: ${truth}`);
      }
    }
  });

/** Herds that come with the program and can be opened from the page. */
export const samplesBody = strictObject({
  /** A query whose first row says in a column `herd` which of them is open. */
  of: dataName,
  herds: z.array(strictObject({ herd: herdName, open: z.string().min(1), label: z.string().min(1) })).min(1),
});

export type QuestionBody = z.output<typeof questionBody>;
export type SamplesBody = z.output<typeof samplesBody>;

/** A way of answering, worked out on the page: its figure with the interval and what it rests on, where there are. */
export interface Worked {
  readonly words: string;
  readonly estimate: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly horses: number | null;
  readonly cycles: number | null;
}

export interface QuestionResult {
  readonly kind: 'question';
  /** Which of the question's herds is open; null where it is none of them, or not all of it is in view. */
  readonly herd: string | null;
  readonly naive: Worked;
  readonly right: Worked;
}

export interface SamplesResult {
  readonly kind: 'samples';
  readonly herd: string | null;
}
