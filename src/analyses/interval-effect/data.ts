import type { Table } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import type { ProblemKey } from '../../herd/problems.ts';
import { footRows } from '../foot-rows.ts';
import type { Counts } from '../format.ts';
import { allOf, type Coded, countRows, type Grouping, groupSql, isKnown } from '../groups.ts';
import type { IntervalOptions } from './options.ts';

/** Unflagged cycles with the problem graded at both ends: arrays of length n. */
export interface IntervalRows {
  readonly days: Float64Array;
  /** 0 clear, 1 present, after the trim and at the next visit. */
  readonly start: Uint8Array;
  readonly end: Uint8Array;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly band: Coded;
  readonly groups: ReadonlyMap<Grouping, Coded>;
  readonly counts: Counts;
  /** Cycles that began clear: those at risk. */
  readonly atRisk: Counts;
}

/** The condition of all rows of the fit. */
function intervalWhere(problem: ProblemKey, adjust: readonly Grouping[]): string {
  return allOf(
    'flag IS NULL',
    `${quoteName(`${problem}_start`)} IS NOT NULL`,
    `${quoteName(`${problem}_end`)} IS NOT NULL`,
    ...adjust.map(isKnown),
  );
}

/** Those of them that began clear. */
export function atRiskWhere(problem: ProblemKey, adjust: readonly Grouping[]): string {
  return allOf(intervalWhere(problem, adjust), `NOT ${quoteName(`${problem}_start`)}`);
}

export function intervalSql(options: IntervalOptions): string {
  return `${selected(options, [])} ORDER BY horse_id, foot_key, visit_date`;
}

/** The same rows in whatever order they are kept, for `gatherIntervals` to put in order. */
export function quickIntervalSql(options: IntervalOptions): string {
  return selected(options, ['cycle_number::DOUBLE AS cycle_number']);
}

function selected({ problem, adjust }: IntervalOptions, more: readonly string[]): string {
  const columns = [
    'horse_id, foot_key, days, interval_band AS band',
    `${quoteName(`${problem}_start`)}::INTEGER AS present_start`,
    `${quoteName(`${problem}_end`)}::INTEGER AS present_end`,
    ...adjust.map((grouping) => `${groupSql(grouping)}::VARCHAR AS ${quoteName(`by ${grouping}`)}`),
    ...more,
  ];
  return `SELECT ${columns.join(', ')} FROM trim_cycle WHERE ${intervalWhere(problem, adjust)}`;
}

export function gatherIntervals(table: Table): IntervalRows {
  const rows = footRows(table);
  const { horse, foot, groups } = rows;
  const start = rows.marks('present_start');
  return {
    days: rows.numbers('days'),
    start,
    end: rows.marks('present_end'),
    horse,
    foot,
    band: rows.coded('band'),
    groups,
    counts: countRows(horse, foot, () => true),
    atRisk: countRows(horse, foot, (row) => start[row] === 0),
  };
}
