import { isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { makeTable, textColumn } from '../../core/table.ts';
import type { Analysis, AnalysisResult, Finding, ResultTable } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { countsText, figure, horsesText, interval95, percent, quantity, shareInterval95 } from '../format.ts';
import { groupingName, levelName, requireGroupings } from '../groups.ts';
import {
  behindColumns,
  countColumns,
  estimateColumns,
  SHOWN_COUNTS,
  shownEstimate,
} from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import { optionsSchema, type WearOptions } from './options.ts';
import { type WearFigure, type WearRates, wearFigures, wearRates, wearSql } from './rates.ts';

const UNIT = 'mm per 30 days';

/** Gross growth from a mark that moves down from the hairline, and what of it the ground wore off. */
export const wear: Analysis<WearOptions> = {
  name: 'wear',
  title: 'Growth and wear',
  question: 'How fast does the wall grow down, and how much of it wears off?',
  options: optionsSchema,
  async run(options, { engine, signal }) {
    if (options.by !== 'none') await requireGroupings(engine, 'trim_cycle', [options.by]);
    return present(wearRates(await engine.query(wearSql(options), signal), options), options);
  },
};

function present(all: readonly WearRates[], options: WearOptions): AnalysisResult {
  const figures = wearFigures(all);
  const whole = all[0]!;
  return {
    analysis: 'wear',
    tables: [estimates(figures, options), levels(figures)],
    findings: [...headline(whole), ...byLevel(all.slice(1), options)],
    unavailable: refusals(all, options),
    assumes: [
      'A mark, ring or notch moves down with the wall: the change of its distance from the hairline is gross growth.',
      'Only spans between two visits at which the same mark was read, and the toe measured, are used; wear is gross less net growth over the same span.',
      'The angle at which the toe stands hardly changes over a span, so that both lengths run along the same wall.',
      'Horses are independent; the feet of one horse are not, and errors allow for it.',
    ],
    cautions: [CAUTIONS.record, CAUTIONS.small_numbers],
    method: {
      name: 'Ratio of sums over the same days, errors clustered by horse',
      source: 'Cochran 1977, Sampling Techniques, ch. 6; Florence & McDonnell 2006, Equine Vet J 38:642–645',
      doc: 'docs/methods/wear.md',
    },
    counts: whole.counts,
  };
}

const title = (level: string): string =>
  `trim cycles with a mark read at both ends, ${level === 'all' ? 'all horses' : level}`;

function estimates(figures: readonly WearFigure[], { by }: WearOptions): ResultTable {
  const rows = figures.map(
    ({ rates, measure, rate }): TidyRow => ({
      problem: null,
      term: measure.term,
      level: rates.level === 'all' ? 'all' : levelName(by, rates.level),
      estimate: rate.estimate,
      stdError: rate.stdError,
      low: rate.low,
      high: rate.high,
      unit: measure.unit,
      counts: rates.counts,
      behind: rates.where,
      behindTitle: title(rates.level),
    }),
  );
  return tidyTable('wear', 'Gross growth and wear of the toe', rows, 3);
}

/** One row a figure: a chart picks some by `measure`. */
function levels(figures: readonly WearFigure[]): ResultTable {
  return {
    name: 'levels',
    title: 'Gross growth, net growth and wear of the toe by group',
    relation: 'trim_cycle',
    columns: [
      { name: 'level', label: 'Group' },
      { name: 'measure', label: 'Figure' },
      ...shownEstimate('Estimate', 2),
      { name: 'unit', label: 'Unit' },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      level: textColumn(figures.map(({ rates }) => rates.level)),
      measure: textColumn(figures.map(({ measure }) => measure.term)),
      ...estimateColumns(figures.map(({ rate }) => rate)),
      unit: textColumn(figures.map(({ measure }) => measure.unit)),
      ...countColumns(figures.map(({ rates }) => rates.counts)),
      ...behindColumns(figures.map(({ rates }) => ({ where: rates.where, title: title(rates.level) }))),
    }),
  };
}

function headline(whole: WearRates): Finding[] {
  const { gross, wear: worn, share } = whole;
  if (isUnavailable(gross) || isUnavailable(worn)) return [];
  const part = isUnavailable(share)
    ? ''
    : `, ${percent(share.estimate, 1)} of it (${shareInterval95(share.low, share.high, 1)})`;
  return [
    {
      sentence: `Where a mark in the wall was read at both ends of a trim cycle, the wall grew down by an estimated ${quantity(gross.estimate, UNIT, 2)} (${interval95(gross.low, gross.high, 2)}), and ${quantity(worn.estimate, UNIT, 2)} wore off (${interval95(worn.low, worn.high, 2)})${part}. From ${countsText(whole.counts)}.`,
      caution: null,
      behind: { relation: 'trim_cycle', where: whole.where, title: title('all') },
    },
  ];
}

function byLevel(all: readonly WearRates[], { by }: WearOptions): Finding[] {
  if (by === 'none') return [];
  const told = all.flatMap((rates) => (isUnavailable(rates.wear) ? [] : [{ rates, rate: rates.wear }]));
  if (told.length < 2) return [];
  const sorted = told.sort((a, b) => a.rate.estimate - b.rate.estimate);
  const [least, most] = [sorted[0]!, sorted.at(-1)!];
  const words = ({ rates, rate }: typeof least): string =>
    `${rates.level} ${figure(rate.estimate, 2)} (${interval95(rate.low, rate.high, 2)}, ${horsesText(rates.counts.horses)})`;
  return [
    {
      sentence: `By ${groupingName(by)}, wear in ${UNIT} runs from ${words(least)} to ${words(most)}; ${most.rate.low > least.rate.high ? 'their intervals do not overlap' : 'their intervals overlap, so the order may be chance'}.`,
      caution: CAUTIONS.record,
      behind: { relation: 'trim_cycle', where: most.rates.where, title: title(most.rates.level) },
    },
  ];
}

function refusals(all: readonly WearRates[], { by }: WearOptions): Unavailable[] {
  const [whole, ...rest] = all;
  const { cycles, horses } = whole!.counts;
  if (isUnavailable(whole!.wear)) {
    const sentence =
      cycles === 0
        ? 'gross growth and wear cannot be told: no mark was read at two visits running on the same foot, with the toe measured at both.'
        : `gross growth and wear cannot be told from ${figure(cycles)} trim cycles of ${horsesText(horses)} with a mark read at both ends: ${whole!.wear.sentence}`;
    return [unavailable(whole!.wear.unavailable, sentence)];
  }
  if (by === 'none') return [];
  return rest.flatMap(({ level, wear: worn, counts }) =>
    isUnavailable(worn)
      ? [
          unavailable(
            worn.unavailable,
            `wear, ${groupingName(by)} ${level}: too few marks (${horsesText(counts.horses)}, ${figure(counts.cycles)} trim cycles): ${worn.sentence}`,
          ),
        ]
      : [],
  );
}
