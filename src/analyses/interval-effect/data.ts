import type { Table } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import { INTERVAL_BANDS } from '../../herd/cycle-levels.ts';
import type { ProblemKey } from '../../herd/problems.ts';
import type { CycleAsk } from '../cycle-table.ts';
import { footRows } from '../foot-rows.ts';
import type { Counts } from '../format.ts';
import { gradedCycles, stateColumns } from '../graded-cycles.ts';
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

export function intervalSql({ problem, adjust }: IntervalOptions): string {
  const columns = [
    'horse_id, foot_key, days, interval_band AS band',
    `${quoteName(`${problem}_start`)}::INTEGER AS present_start`,
    `${quoteName(`${problem}_end`)}::INTEGER AS present_end`,
    ...adjust.map((grouping) => `${groupSql(grouping)}::VARCHAR AS ${quoteName(`by ${grouping}`)}`),
  ];
  return `SELECT ${columns.join(', ')} FROM trim_cycle WHERE ${intervalWhere(problem, adjust)}
    ORDER BY horse_id, foot_key, visit_date`;
}

/** The same rows from columns of the whole cohort. */
export const intervalAsk = ({ problem, adjust }: IntervalOptions): CycleAsk => ({
  columns: stateColumns(problem, adjust),
  where: gradedCycles(problem, adjust),
});

export function gatherIntervals(table: Table): IntervalRows {
  const rows = footRows(table);
  const { horse, foot, groups } = rows;
  const days = rows.numbers('days');
  const start = rows.marks('present_start');
  return {
    days,
    start,
    end: rows.marks('present_end'),
    horse,
    foot,
    band: bandsOf(days),
    groups,
    counts: countRows(horse, foot, () => true),
    atRisk: countRows(horse, foot, (row) => start[row] === 0),
  };
}

/** Each cycle's `interval_band`: by its whole weeks, those under 5 as one and those from 10 on. */
function bandsOf(days: Float64Array): Coded {
  return {
    levels: INTERVAL_BANDS,
    codes: Int32Array.from(days, (of) => Math.min(Math.max(Math.floor(of / 7) - 4, 0), 6)),
  };
}
