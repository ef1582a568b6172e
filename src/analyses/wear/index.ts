import { makeTable, type Table, textColumn } from '../../core/table.ts';
import type { Analysis, AnalysisResult, ResultTable } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { cycleTable, groupAsk, isRecorded } from '../cycle-table.ts';
import { levelName } from '../groups.ts';
import { type LengthWords, lengthWords } from '../lengths.ts';
import { recordedInCycles } from '../recorded.ts';
import {
  behindColumns,
  countColumns,
  estimateColumns,
  SHOWN_COUNTS,
  shownEstimate,
} from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import { byLevel, cyclesTitle, headline, refusals } from './findings.ts';
import { oddMarks, oddMarksFindings, oddMarksTable } from './odd-marks.ts';
import { optionsSchema, type WearOptions } from './options.ts';
import { MARKED, type WearFigure, wearAsk, wearFigures, wearRates, wearWhere } from './rates.ts';

/** Gross growth from a mark that moves down from the hairline, and what of it the ground wore off. */
export const wear: Analysis<WearOptions> = {
  name: 'wear',
  title: 'Growth and wear',
  question: 'How fast does the wall grow down, and how much of it wears off?',
  options: optionsSchema,
  async run(options, context) {
    const asked = options.by === 'none' ? [] : [options.by];
    const marked = wearWhere({ by: 'none' });
    const recorded = await recordedInCycles(context, MARKED, marked, asked);
    const kept: WearOptions = { ...options, by: recorded.kept[0] ?? 'none' };
    const known = recorded.kept.map((by) => isRecorded(groupAsk(by)));
    const result = present(
      await cycleTable(context, wearAsk(kept, known)),
      kept,
      lengthWords(context.lengths),
    );
    return {
      ...result,
      findings: [...result.findings, ...recorded.leftOut],
      unavailable: [...result.unavailable, ...recorded.notes],
    };
  },
};

function present(rows: Table, options: WearOptions, words: LengthWords): AnalysisResult {
  const all = wearRates(rows, options);
  const odd = oddMarks(rows, wearWhere(options));
  const figures = wearFigures(all);
  const whole = all[0]!;
  return {
    analysis: 'wear',
    tables: [estimates(figures, options), levels(figures), oddMarksTable(odd)],
    findings: [
      ...headline(whole, words),
      ...byLevel(all.slice(1), options, words),
      ...oddMarksFindings(odd, whole.counts.cycles, words),
    ],
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
      behindTitle: cyclesTitle(rates.level),
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
      ...behindColumns(figures.map(({ rates }) => ({ where: rates.where, title: cyclesTitle(rates.level) }))),
    }),
  };
}
