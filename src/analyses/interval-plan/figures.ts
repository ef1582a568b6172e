import type { Estimate } from '../../core/outcome.ts';
import { makeTable, textColumn } from '../../core/table.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { ResultTable } from '../analysis.ts';
import {
  behindColumns,
  countColumns,
  estimateColumns,
  SHOWN_COUNTS,
  shownEstimate,
} from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import type { PlanAnswer } from './answer.ts';
import { type Measure, PER_FEET, type WhatIf } from './what-if.ts';
import { limitWords, NO_LIMIT } from './words.ts';

const MEASURE_UNITS: Readonly<Record<Measure, string>> = {
  visits: 'horse visits a year',
  regrowth: 'mm',
  past: 'share',
  separation: `a year per ${PER_FEET} feet`,
  frog_infection: `a year per ${PER_FEET} feet`,
  wall_infection: `a year per ${PER_FEET} feet`,
};

function measureWords(measure: Measure): string {
  if (measure === 'visits') return 'horse visits';
  if (measure === 'regrowth') return 'mean toe regrowth at the visit';
  if (measure === 'past') return 'feet past the tolerance';
  return `new cases of ${problemLabel(measure)}`;
}

const behindTitle = ({ measure }: WhatIf): string =>
  measure === 'visits' || measure === 'regrowth' || measure === 'past'
    ? 'trim cycles of the horses on the round'
    : `trim cycles that began clear of ${problemLabel(measure)}`;

const isProblem = (measure: Measure): measure is Exclude<Measure, 'visits' | 'regrowth' | 'past'> =>
  measure !== 'visits' && measure !== 'regrowth' && measure !== 'past';

/** Long: one row a scenario and measure, so that what cannot be told is no row. */
export function whatIfTable({ whatIf }: PlanAnswer): ResultTable {
  return {
    name: 'what_if',
    title: 'What if every horse were seen at one interval',
    relation: 'trim_cycle',
    columns: [
      { name: 'scenario', label: 'Every horse seen' },
      { name: 'measure', label: 'What' },
      ...shownEstimate('Expected', 1),
      { name: 'unit', label: 'Unit' },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      scenario: textColumn(whatIf.map((row) => row.scenario)),
      measure: textColumn(whatIf.map((row) => measureWords(row.measure))),
      ...estimateColumns(whatIf),
      unit: textColumn(whatIf.map((row) => MEASURE_UNITS[row.measure])),
      ...countColumns(whatIf.map((row) => row.counts)),
      ...behindColumns(whatIf.map((row) => ({ where: row.where, title: behindTitle(row) }))),
    }),
  };
}

/** New cases under each plan less those as now. */
export function changesTable({ whatIf }: PlanAnswer): ResultTable {
  const rows = whatIf.flatMap((row) => (row.change ? [{ ...row, change: row.change }] : []));
  return {
    name: 'changes',
    title: 'New cases compared with the intervals as now',
    relation: 'trim_cycle',
    columns: [
      { name: 'scenario', label: 'Every horse seen' },
      { name: 'measure', label: 'What' },
      ...shownEstimate('More than now', 1, `a year per ${PER_FEET} feet`),
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      scenario: textColumn(rows.map((row) => row.scenario)),
      measure: textColumn(rows.map((row) => measureWords(row.measure))),
      ...estimateColumns(rows.map((row) => row.change)),
      ...countColumns(rows.map((row) => row.counts)),
      ...behindColumns(rows.map((row) => ({ where: row.where, title: behindTitle(row) }))),
    }),
  };
}

/** How many horses each limit binds, and what is expected under each plan. */
export function planEstimates(answer: PlanAnswer): ResultTable {
  const { due, counts, where, whatIf } = answer;
  const sure = (term: string, level: string, estimate: number): TidyRow => ({
    problem: null,
    term,
    level,
    estimate,
    stdError: null,
    low: null,
    high: null,
    unit: 'horses',
    counts,
    behind: where,
    behindTitle: 'trim cycles of the horses planned',
  });
  const rows: TidyRow[] = [];
  if (due.length > 0) {
    for (const [level, n] of boundCounts(answer)) rows.push(sure('horses by the limit that binds', level, n));
    for (const { level, n } of dueCounts(answer)) rows.push(sure('horses due', level, n));
    for (const { level, n } of usualCounts(answer))
      rows.push(sure('planned against usual interval', level, n));
  }
  for (const row of whatIf) rows.push(tidyOf(row, row, measureWords(row.measure)));
  for (const row of whatIf) {
    if (row.change) rows.push(tidyOf(row, row.change, `${measureWords(row.measure)}, more than now`));
  }
  return tidyTable('interval-plan', 'Interval plan', rows, 3);
}

function tidyOf(
  row: WhatIf,
  figure: Pick<WhatIf, 'estimate' | 'stdError' | 'low' | 'high'> | Estimate,
  term: string,
): TidyRow {
  return {
    problem: isProblem(row.measure) ? row.measure : null,
    term,
    level: row.scenario,
    estimate: figure.estimate,
    stdError: figure.stdError,
    low: figure.low,
    high: figure.high,
    unit: MEASURE_UNITS[row.measure],
    counts: row.counts,
    behind: row.where,
    behindTitle: behindTitle(row),
  };
}

/** Horses by the limit that binds, most first; those whom none binds last. */
export function boundCounts({ due }: Pick<PlanAnswer, 'due'>): [string, number][] {
  const seen = new Map<string, number>();
  let free = 0;
  for (const { plan } of due) {
    if (!plan.binding) free += 1;
    else {
      const words = limitWords(plan.binding.key);
      seen.set(words, (seen.get(words) ?? 0) + 1);
    }
  }
  const bound = [...seen].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
  return free > 0 ? [...bound, [NO_LIMIT, free]] : bound;
}

interface LevelCount {
  readonly level: string;
  readonly n: number;
}

/** Horses due on the round, those overdue, and those whose limits ask for less than the least allowed. */
export function dueCounts({
  due,
  options,
}: Pick<PlanAnswer, 'due' | 'options'>): readonly [LevelCount, LevelCount, LevelCount] {
  const count = (test: (horse: PlanAnswer['due'][number]) => boolean): number => due.filter(test).length;
  return [
    {
      level: `within ${options.round_days} days`,
      n: count(({ daysOver }) => daysOver >= -options.round_days),
    },
    { level: 'overdue', n: count(({ daysOver }) => daysOver > 0) },
    { level: 'sooner than the least allowed', n: count(({ plan }) => plan.isSooner) },
  ];
}

/** Horses planned sooner than, later than and at their usual interval. */
export function usualCounts({ due }: Pick<PlanAnswer, 'due'>): readonly [LevelCount, LevelCount, LevelCount] {
  const apart = due.flatMap(({ plan: { days, horse } }) =>
    horse.usualDays === null ? [] : [Math.sign(days - horse.usualDays)],
  );
  const count = (sign: number): number => apart.filter((each) => each === sign).length;
  return [
    { level: 'sooner', n: count(-1) },
    { level: 'later', n: count(1) },
    { level: 'as usual', n: count(0) },
  ];
}
