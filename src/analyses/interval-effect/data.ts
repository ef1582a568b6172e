import type { Table } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import type { ProblemKey } from '../../herd/problems.ts';
import type { AskContext } from '../analysis.ts';
import { chosenCycles, codesAt } from '../cycle-table.ts';
import { inOrder } from '../foot-order.ts';
import { footRows } from '../foot-rows.ts';
import type { Counts } from '../format.ts';
import { gradedCycles, stateColumns } from '../graded-cycles.ts';
import { allOf, type Coded, countRows, type Grouping, groupSql, isKnown, seenLevels } from '../groups.ts';
import type { IntervalOptions } from './options.ts';

/** Unflagged cycles with the problem graded at both ends: arrays of length n. */
export interface IntervalRows {
  readonly days: Float64Array;
  /** 0 clear, 1 present, after the trim and at the next visit. */
  readonly start: Uint8Array;
  readonly end: Uint8Array;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly groups: ReadonlyMap<Grouping, Coded>;
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

/** The rows of a table that `intervalSql` gave. */
export function gatherIntervals(table: Table): IntervalRows {
  const rows = footRows(table);
  return counted({
    days: rows.numbers('days'),
    start: rows.marks('present_start'),
    end: rows.marks('present_end'),
    horse: rows.horse,
    foot: rows.foot,
    groups: rows.groups,
  });
}

/** The same from columns of the whole cohort, by foot and day. */
export async function intervalRows(
  context: AskContext,
  { problem, adjust }: Pick<IntervalOptions, 'problem' | 'adjust'>,
): Promise<IntervalRows> {
  const ask = { columns: stateColumns(problem, adjust), where: gradedCycles(problem, adjust) };
  const { keep, horse, foot, columns } = await chosenCycles(context, ask);
  // Where they are known, as here, marks are 0 and 1.
  const marks = (name: string): Uint8Array => {
    const { buffer, byteOffset, length } = columns.get(name) as Int8Array;
    return inOrder(new Uint8Array(buffer, byteOffset, length), keep);
  };
  return counted({
    days: inOrder(columns.get('days') as Float64Array, keep),
    start: marks('present_start'),
    end: marks('present_end'),
    horse: codesAt(horse, keep).codes,
    foot: codesAt(foot, keep).codes,
    groups: new Map(
      adjust.map((grouping) => [grouping, seenLevels(codesAt(columns.get(`by ${grouping}`) as Coded, keep))]),
    ),
  });
}

function counted(rows: Omit<IntervalRows, 'atRisk'>): IntervalRows {
  const { horse, foot, start } = rows;
  return { ...rows, atRisk: countRows(horse, foot, (row) => start[row] === 0) };
}
