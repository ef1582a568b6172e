import { lengthWords, type ShownLength } from '../analyses/lengths.ts';
import type { QuestionBody, Worked } from './question-schema.ts';

/** A number in the question's own unit (mm, whatever is shown), or the value of an option. */
export type Answer = number | string;

interface Verdict {
  readonly right: boolean;
  readonly sentence: string;
}

/** How a figure of the question is written, its lengths as they are read. */
export function figureWords({ unit, digits }: QuestionBody, lengths: ShownLength) {
  const words = lengthWords(lengths);
  const by = unit ?? '';
  return {
    figure: (value: number): string => words.figure(value, by, digits),
    quantity: (value: number): string =>
      unit ? words.quantity(value, unit, digits) : words.figure(value, by, digits),
    range: (low: number, high: number): string => words.range(low, high, by, digits),
  };
}

/** The truth as people read it. */
export function truthWords(body: QuestionBody, herd: string, lengths: ShownLength): string {
  const truth = body.answers[herd]!.truth;
  if (body.kind === 'number') return figureWords(body, lengths).quantity(truth as number);
  return body.options.find(({ value }) => value === truth)?.label ?? String(truth);
}

/** Whether an answer counts as right, how far it is off, and whether it is what plain counting gives. */
export function checkAnswer(
  body: QuestionBody,
  herd: string,
  answer: Answer,
  naive: Worked,
  lengths: ShownLength,
): Verdict {
  if (body.kind === 'choice') {
    const right = answer === body.answers[herd]!.truth;
    return { right, sentence: right ? 'Yes, that is how it was made.' : 'No, it was made otherwise.' };
  }
  const { truth, accept } = body.answers[herd]!;
  const { figure, range } = figureWords(body, lengths);
  const given = Number(answer);
  const counted = `${range(accept.low, accept.high)} counts as right`;
  if (given >= accept.low && given <= accept.high)
    return { right: true, sentence: `Yes: ${figure(given)} is close to the truth (${counted}).` };
  const off = `too ${given > truth ? 'high' : 'low'} by ${figure(Math.abs(given - truth))}`;
  const isNaive = naive.estimate !== null && Math.abs(given - naive.estimate) < Math.abs(given - truth) / 2;
  const why = isNaive ? ` It is near what the plain way gives: ${naive.words.toLowerCase()}.` : '';
  return { right: false, sentence: `Not yet: ${figure(given)} is ${off} (${counted}).${why}` };
}
