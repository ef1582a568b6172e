import { isUnavailable, type Unavailable } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { Analysis, AnalysisResult, AskContext } from '../analysis.ts';
import { made } from '../apart.ts';
import { CAUTIONS } from '../cautions.ts';
import { inHorses } from '../in-horses.ts';
import { pacer } from '../pacing.ts';
import { type Recorded, recordedGroupings } from '../recorded.ts';
import { tidyTable } from '../tidy.ts';
import type { TrendAnswer } from './answer.ts';
import { casesTable } from './cases.ts';
import { gradeColumn, LONGEST_GAP, type Looks } from './data.ts';
import { trendFindings } from './findings.ts';
import { casesOf, looksOf } from './gather.ts';
import { horseYears, yearDispersion, yearsRatio } from './horse-years.ts';
import { horseMonths, monthSums, standingCases, trendDispersion } from './monthly.ts';
import { monthsBetween } from './months.ts';
import { optionsSchema, type TrendOptions } from './options.ts';
import { chartTable, scanTable, sumTable } from './signal-tables.ts';
import { signalsOf } from './signals.ts';
import { caseWords, levelsTable, monthlyTable, standingTable, trendEstimates } from './tables.ts';
import { spansOf, yearsOf } from './years.ts';

/**
 * New and standing cases by month, what stands out against the months before, and the list of cases. A foot is a case
 * from a stated grade on; when a case began is known only to lie between two visits.
 */
export const caseTrends: Analysis<TrendOptions> = {
  name: 'case-trends',
  title: 'Case trends',
  question: 'How many new and standing cases are there by month, and is there a change?',
  options: optionsSchema,
  async run(asked, context) {
    const { engine, signal, progress } = context;
    const groupings = asked.by === 'none' ? [] : [asked.by];
    const graded = `${gradeColumn(asked)} IS NOT NULL`;
    const recorded = await recordedGroupings({ engine, signal }, 'foot_visit', graded, groupings);
    const options: TrendOptions = { ...asked, by: recorded.kept[0] ?? 'none' };
    const looks = await looksOf(context, options);
    if (looks.from.length === 0) return empty(options, recorded);
    progress(0.4, 'Counting cases by month');
    return present(await reckon(looks, options, context), recorded);
  },
};

async function reckon(looks: Looks, options: TrendOptions, context: AskContext): Promise<TrendAnswer> {
  const pause = pacer(context.signal, 0);
  const { first, last, gap } = extentOf(looks);
  const months = monthsBetween(first, last);
  const together: Looks = { ...looks, levels: ['all'], level: new Int32Array(looks.from.length) };
  const sums = monthSums(looks, months);
  const whole = options.by === 'none' ? sums : monthSums(together, months);
  const groups = horseMonths(together, months);
  const begun = signalsOf(together, months, options, groups, context.apart ?? made(pause));
  // Told to whoever waits for it below; nobody does once this was stopped.
  begun.catch(() => undefined);
  const dispersion = trendDispersion(together, months, groups);
  await pause();
  const standing = standingCases(looks, months);
  const wholeStanding = options.by === 'none' ? standing : standingCases(together, months);
  await pause();
  const spans = spansOf(looks, months);
  const yearly = (of: Looks) => spans.map((span) => horseYears(of, months, span, options));
  const ofAll = yearly(together);
  const wide = Math.max(dispersion, yearDispersion(ofAll));
  const ofLevels = options.by === 'none' ? wide : Math.max(dispersion, yearDispersion(yearly(looks)));
  const years = [
    ...yearsOf(together, months, whole, ['all'], wide, options),
    ...(options.by === 'none' ? [] : yearsOf(looks, months, sums, looks.levels, ofLevels, options)),
  ];
  const cases = await casesOf(context, options);
  const signals = await begun;
  return {
    options,
    looks,
    months,
    sums,
    whole,
    standing,
    wholeStanding,
    dispersion,
    yearDispersion: wide,
    years,
    yearsRatio: ofAll.length === 2 ? yearsRatio(ofAll[0]!, ofAll[1]!, dispersion) : null,
    signals,
    cases,
    // Half the feet seen less than a usual interval before the end have not been seen since.
    partFrom: months.at(Math.max(first, last - gap)),
  };
}

/** First and last day, and the middle one of the days between neighbouring visits. */
function extentOf({ from, to }: Looks): {
  readonly first: number;
  readonly last: number;
  readonly gap: number;
} {
  let [first, last] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  const byGap = new Int32Array(LONGEST_GAP + 1);
  for (let i = 0; i < from.length; i += 1) {
    if (from[i]! < first) first = from[i]!;
    if (to[i]! > last) last = to[i]!;
    byGap[to[i]! - from[i]!]! += 1;
  }
  let [gap, upTo] = [0, byGap[0]!];
  while (upTo <= from.length >> 1) upTo += byGap[++gap]!;
  return { first, last, gap };
}

function frame(looks: Looks | null): Pick<AnalysisResult, 'analysis' | 'cautions' | 'method' | 'counts'> {
  return {
    analysis: 'case-trends',
    cautions: [CAUTIONS.record, CAUTIONS.own_scale, CAUTIONS.small_numbers, CAUTIONS.call_vet],
    method: {
      name: 'Monthly counts with horses as clusters; Poisson limits and cumulative sum with simulated false alarms; likelihood scan with signs by horse',
      source:
        'Lucas 1985, Technometrics 27:129–144; Worsley 1986, Biometrika 73:91–104; Garwood 1936, Biometrika 28:437–442',
      doc: 'docs/methods/case-trends.md',
    },
    counts: looks
      ? { horses: looks.horses, feet: new Set(looks.foot).size, cycles: looks.from.length }
      : { horses: 0, feet: 0, cycles: 0 },
  };
}

function empty(options: TrendOptions, recorded: Recorded): AnalysisResult {
  return {
    ...frame(null),
    tables: [tidyTable('case-trends', 'Case trends', [])],
    findings: [],
    unavailable: [
      ...recorded.notes,
      {
        unavailable: 'no-rows',
        sentence: `no foot was graded twice for ${problemLabel(options.problem)} here, so nothing can be said of new cases.`,
      },
    ],
    assumes: [],
  };
}

function present(answer: TrendAnswer, recorded: Recorded): AnalysisResult {
  const { options, signals } = answer;
  const refused: Unavailable[] = [signals.chart, signals.scan].filter(isUnavailable).map(inHorses);
  const [head, ...rest] = [
    trendEstimates(answer),
    monthlyTable(answer),
    standingTable(answer),
    levelsTable(answer),
    chartTable(answer),
    sumTable(answer),
    scanTable(answer),
    casesTable(answer.cases, options),
  ];
  return {
    ...frame(answer.looks),
    tables: [{ ...head!, relation: 'foot_visit' }, ...rest],
    findings: [...trendFindings(answer), ...recorded.leftOut],
    unavailable: [...recorded.notes, ...refused],
    assumes: [
      `A foot is a case of ${caseWords(answer)}, as graded by the practitioner on this notebook’s own 0–3 scale: another definition gives other numbers, and numbers under different definitions must never be added up.`,
      'A case began on any of the days since the visit before, one as likely as another; what came and went between two visits is not counted.',
      'A case found at a foot’s first visit is standing, not new.',
      'Horses are independent; the feet of one horse are not, and limits and intervals allow for it.',
      'Visits are not brought forward because a foot is doing badly, and grading does not grow stricter or milder with time.',
    ],
  };
}
