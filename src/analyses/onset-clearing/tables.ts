import type { Estimate } from '../../core/outcome.ts';
import { isUnavailable } from '../../core/outcome.ts';
import { makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { MarkovSummary } from '../../stats/two-state-markov.ts';
import type { ResultTable } from '../analysis.ts';
import { percent } from '../format.ts';
import { groupingName, levelName } from '../groups.ts';
import type { LevelRates } from '../level-rates.ts';
import {
  behindColumns,
  countColumns,
  estimateColumns,
  SHOWN_COUNTS,
  shownEstimate,
} from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import { cyclesTitle, levelWhere, type OnsetAnswer, type RatioRow } from './answer.ts';

const YEAR = 365.25;

/** What is told of each level: words, unit, and how the model's own figure is turned into it. */
export const MEASURED = [
  { key: 'onsetRate', term: 'onset', unit: 'per foot-year', digits: 2, factor: 1 },
  { key: 'clearingRate', term: 'clearing', unit: 'per foot-year', digits: 2, factor: 1 },
  { key: 'meanSpell', term: 'mean spell', unit: 'd', digits: 0, factor: YEAR },
  { key: 'longRunShare', term: 'long-run share affected', unit: 'share', digits: 3, factor: 1 },
] as const satisfies readonly { key: keyof MarkovSummary; [k: string]: unknown }[];

export function measured(summary: MarkovSummary, { key, factor }: (typeof MEASURED)[number]): Estimate {
  const { estimate, stdError, low, high } = summary[key];
  return {
    estimate: estimate * factor,
    stdError: stdError === null ? null : stdError * factor,
    low: low * factor,
    high: high * factor,
  };
}

const shownLevel = ({ level }: LevelRates): string => level ?? 'all';

export function onsetEstimates({ options, levels }: OnsetAnswer, ratios: readonly RatioRow[]): ResultTable {
  const { problem, by } = options;
  const rates = levels.flatMap((level): TidyRow[] => {
    const { summary } = level;
    if (isUnavailable(summary)) return [];
    return MEASURED.map((measure) => {
      const { estimate, stdError, low, high } = measured(summary, measure);
      return {
        problem,
        term: measure.term,
        level: level.level === null ? 'all' : levelName(by, level.level),
        estimate,
        stdError,
        low,
        high,
        unit: measure.unit,
        counts: level.seen,
        behind: levelWhere(options, level.level),
        behindTitle: cyclesTitle(options, shownLevel(level)),
      };
    });
  });
  const compared = ratios.map(
    (row): TidyRow => ({
      problem,
      term: `${row.rate} rate ratio, ${row.comparison}${row.estimate === null ? ', one-sided limit' : ''}`,
      level: `${levelName(by, row.level)} against ${row.reference}`,
      estimate: row.estimate,
      stdError: row.stdError,
      low: row.low,
      high: row.high,
      unit: 'ratio',
      counts: row.seen,
      behind: row.where,
      behindTitle: cyclesTitle(options, `${row.level} and ${row.reference}`),
    }),
  );
  const title = `Onset and clearing of ${problemLabel(problem)}`;
  return tidyTable('onset-clearing', title, [...rates, ...compared], 3);
}

/** Rates by level, one row a figure: a chart picks one by `measure`. */
export function onsetRates({ options, levels }: OnsetAnswer): ResultTable {
  const rows = levels.flatMap((level) => {
    const { summary } = level;
    if (isUnavailable(summary)) return [];
    return MEASURED.map((measure) => ({ level, measure, ...measured(summary, measure) }));
  });
  return {
    name: 'rates',
    title: `Onset and clearing of ${problemLabel(options.problem)} by group`,
    relation: 'trim_cycle',
    columns: [
      { name: 'level', label: 'Group' },
      { name: 'measure', label: 'Figure' },
      ...shownEstimate('Estimate', 3).map((each) => ({ ...each, share: 'by-unit' as const })),
      { name: 'unit', label: 'Unit' },
      { name: 'onsets', label: 'Onsets seen', digits: 0 },
      { name: 'clearings', label: 'Clearings seen', digits: 0 },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      level: textColumn(rows.map(({ level }) => shownLevel(level))),
      measure: textColumn(rows.map(({ measure }) => measure.term)),
      ...estimateColumns(rows),
      unit: textColumn(rows.map(({ measure }) => measure.unit)),
      onsets: numberColumn(rows.map(({ level }) => level.seen.onsets)),
      clearings: numberColumn(rows.map(({ level }) => level.seen.clearings)),
      ...countColumns(rows.map(({ level }) => level.seen)),
      ...behindColumns(
        rows.map(({ level }) => ({
          where: levelWhere(options, level.level),
          title: cyclesTitle(options, shownLevel(level)),
        })),
      ),
    }),
  };
}

/** The same as people read them: a row a group. */
export function onsetLevels({ options, levels }: OnsetAnswer): ResultTable {
  const told = levels.flatMap((level) =>
    isUnavailable(level.summary) ? [] : [{ level, summary: level.summary }],
  );
  const shown = [
    { measure: MEASURED[0], name: 'onset', label: 'Onsets per foot-year' },
    { measure: MEASURED[1], name: 'clearing', label: 'Clearings per foot-year' },
    { measure: MEASURED[2], name: 'spell', label: 'Mean spell' },
    { measure: MEASURED[3], name: 'share', label: 'Long-run share' },
  ];
  const figures = shown.map(({ measure, name, label }) => {
    const values = told.map(({ summary }) => measured(summary, measure));
    const unit = name === 'spell' ? { unit: 'd' } : name === 'share' ? { unit: '%' } : {};
    const share = name === 'share' ? { share: true as const } : {};
    const like = { digits: measure.digits, ...share };
    return {
      columns: [
        { name, label, ...like, ...unit },
        { name: `${name}_low`, label: `${percent(0.95)} from`, ...like },
        { name: `${name}_high`, label: 'to', ...like },
      ],
      cells: {
        [name]: numberColumn(values.map((v) => v.estimate)),
        [`${name}_low`]: numberColumn(values.map((v) => v.low)),
        [`${name}_high`]: numberColumn(values.map((v) => v.high)),
      },
    };
  });
  return {
    name: 'levels',
    title: `Onset and clearing of ${problemLabel(options.problem)} by group`,
    relation: 'trim_cycle',
    columns: [
      { name: 'level', label: 'Group' },
      ...figures.flatMap(({ columns }) => columns),
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      level: textColumn(told.map(({ level }) => shownLevel(level))),
      ...Object.assign({}, ...figures.map(({ cells }) => cells)),
      ...countColumns(told.map(({ level }) => level.seen)),
      ...behindColumns(
        told.map(({ level }) => ({
          where: levelWhere(options, level.level),
          title: cyclesTitle(options, shownLevel(level)),
        })),
      ),
    }),
  };
}

/** Each level's rates over those of the commonest level, crude and adjusted. */
export function onsetRatios({ options }: OnsetAnswer, ratios: readonly RatioRow[]): ResultTable {
  const { problem, by } = options;
  return {
    name: 'ratios',
    title: `Rates of ${problemLabel(problem)}${by === 'none' ? '' : ` by ${groupingName(by)}`}, over those of the commonest level`,
    relation: 'trim_cycle',
    columns: [
      { name: 'level', label: 'Group' },
      { name: 'reference', label: 'Compared with' },
      { name: 'rate', label: 'Rate' },
      { name: 'comparison', label: 'Comparison' },
      ...shownEstimate('Ratio', 2),
      { name: 'limit', label: 'Kind' },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      level: textColumn(ratios.map((row) => row.level)),
      reference: textColumn(ratios.map((row) => row.reference)),
      rate: textColumn(ratios.map((row) => row.rate)),
      comparison: textColumn(ratios.map((row) => row.comparison)),
      ...estimateColumns(ratios),
      limit: textColumn(ratios.map((row) => (row.estimate === null ? 'one-sided limit' : 'estimate'))),
      ...countColumns(ratios.map((row) => row.seen)),
      ...behindColumns(
        ratios.map((row) => ({
          where: row.where,
          title: cyclesTitle(options, `${row.level} and ${row.reference}`),
        })),
      ),
    }),
  };
}
