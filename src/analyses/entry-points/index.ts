import { type Unavailable, unavailable } from '../../core/outcome.ts';
import { CASE_DEFINITION, problemLabel } from '../../herd/problems.ts';
import type { Analysis, AnalysisResult } from '../analysis.ts';
import { made } from '../apart.ts';
import { CAUTIONS } from '../cautions.ts';
import { cycleTable } from '../cycle-table.ts';
import type { Counts } from '../format.ts';
import { inHorses } from '../in-horses.ts';
import { pacer } from '../pacing.ts';
import { type Recorded, recordedInCycles } from '../recorded.ts';
import { type EntryAnswer, ofQuestion } from './answer.ts';
import { askedCycles, atRiskCycles, atRiskWhere, entryAsk, gatherEntries } from './data.ts';
import { entryFindings, entryRefusals } from './findings.ts';
import { COMPARISONS, type Comparison } from './fits.ts';
import { type EntryOptions, optionsSchema, type Question, questions } from './options.ts';
import { countedTable, entryEstimates, ratiosTable, risksTable } from './tables.ts';

/** Do cracks, coronet injuries and separation come before infection? And, as a check, infection before cracks? */
export const entryPoints: Analysis<EntryOptions> = {
  name: 'entry-points',
  title: 'Entry points',
  question: 'Do cracks and coronet injuries come before infection of the wall?',
  options: optionsSchema,
  async run(asked, context) {
    const { signal, progress } = context;
    const all = questions(asked);
    const recorded = await recordedInCycles(
      context,
      atRiskCycles(all[0]!),
      atRiskWhere(all[0]!, []),
      asked.adjust,
    );
    const options = { ...asked, adjust: [...recorded.kept] };
    const rows = gatherEntries(await cycleTable(context, entryAsk(options)));
    const { apart = made(pacer(signal, 0)) } = context;
    const { weeks } = options;
    let done = 0;
    const parts = partsOf(all, options, context.apart !== undefined);
    const answers = await inTurns(parts, context.apart ? AT_ONCE : 1, async ({ question, comparisons }) => {
      progress(done / parts.length, `Fitting: ${question.label}`);
      const { exposure } = question;
      const cycles = askedCycles(rows, question);
      const answer = await apart('entry question', { cycles, exposure, comparisons, weeks });
      done += 1;
      return ofQuestion(question, answer, options);
    });
    const fits = answers.flatMap((answer) => answer.fits);
    const counted = answers.flatMap((answer) => answer.counted);
    return present({ options, fits, counted }, recorded);
  },
};

/** Questions handed over at once: one waits while each of two threads is at one. */
const AT_ONCE = 3;

interface Part {
  readonly question: Question;
  readonly comparisons: readonly Comparison[];
}

/** The last of them, which is one too many for two threads, in two where there are as many. */
function partsOf(all: readonly Question[], { adjust }: EntryOptions, areTwo: boolean): Part[] {
  const comparisons = COMPARISONS.filter((each) => each !== 'adjusted' || adjust.length > 0);
  const whole = all.map((question) => ({ question, comparisons }));
  if (!areTwo) return whole;
  const last = all.at(-1)!;
  return [...whole.slice(0, -1), ...comparisons.map((each) => ({ question: last, comparisons: [each] }))];
}

/** Results in the order of the items, of which so many are under way at once. */
async function inTurns<T, R>(
  items: readonly T[],
  atOnce: number,
  take: (item: T) => Promise<R>,
): Promise<R[]> {
  const results: R[] = [];
  const waiting = [...items.entries()];
  async function takeNext(): Promise<void> {
    for (let next = waiting.shift(); next; next = waiting.shift()) results[next[0]] = await take(next[1]);
  }
  await Promise.all(Array.from({ length: atOnce }, takeNext));
  return results;
}

function present(answer: EntryAnswer, recorded: Recorded): AnalysisResult {
  const { options, fits } = answer;
  const whole = fits[0]!.all;
  const findings = entryFindings(answer);
  const refused = entryRefusals(answer);
  return {
    analysis: 'entry-points',
    tables: [entryEstimates(answer), ratiosTable(answer), risksTable(answer), countedTable(answer)],
    findings: [...findings, ...(whole.cycles > 0 ? recorded.leftOut : [])],
    unavailable: [...recorded.notes, ...silent(answer, refused, findings.length)].map(inHorses),
    assumes: [
      'What stood at the trim is set against what is seen at the next visit, so that the way in is on record before the infection is.',
      'The risk of onset starts afresh at each trim and grows with a power of the days since; a problem may begin, clear and begin again between two visits.',
      'Clearing goes at one rate for all feet.',
      'A crack of one origin is set against feet without any crack.',
      'What is not recorded may go with cracks and with infection alike.',
      'Horses are independent; the feet and cycles of one horse are not, and errors allow for it.',
      CASE_DEFINITION,
    ],
    cautions: [CAUTIONS.call_vet, CAUTIONS.between_visits, CAUTIONS.record, CAUTIONS.own_scale],
    method: {
      name: `Two-state model of ${problemLabel(options.problem)} with the onset clock set to zero at each trim and what stood at the trim as a covariate; errors clustered by horse; standardised risks`,
      source:
        'Kalbfleisch & Lawless 1985, J Am Stat Assoc 80:863–871; Robins 1986, Math Model 7:1393–1512; Cameron & Miller 2015, J Hum Resour 50:317–372',
      doc: 'docs/methods/entry-points.md',
    },
    counts: mostOf(fits.map((fit) => fit.all)),
  };
}

/** Questions differ in which feet could answer them: no value on the page stands on more than is told of the whole. */
function mostOf(all: readonly Counts[]): Counts {
  const most = (of: (counts: Counts) => number): number => Math.max(...all.map(of));
  return {
    horses: most(({ horses }) => horses),
    feet: most(({ feet }) => feet),
    cycles: most(({ cycles }) => cycles),
  };
}

/** Where nothing at all could be said, once is enough. */
function silent(
  { options }: EntryAnswer,
  refused: readonly Unavailable[],
  nFindings: number,
): readonly Unavailable[] {
  if (nFindings > 0) return refused;
  if (refused.length === 0) {
    return [
      unavailable(
        'one-cluster',
        'too few horses had a crack or an injury at a trim to compare them with the others.',
      ),
    ];
  }
  const label = problemLabel(options.problem);
  const lead = unavailable(
    refused[0]!.unavailable,
    `these records cannot say whether cracks or injuries come before ${label}.`,
  );
  return [lead, ...refused];
}
