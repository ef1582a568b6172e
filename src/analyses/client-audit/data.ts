import type { Table } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import type { ProblemKey } from '../../herd/problems.ts';
import { type CycleAsk, endedAsk, groupAsk } from '../cycle-table.ts';
import { footRows } from '../foot-rows.ts';
import { gradedCycles, stateColumns } from '../graded-cycles.ts';
import { allOf, type Coded, type Grouping, isKnown, isLevel, rowsByLevel } from '../groups.ts';
import type { ClientOptions } from './options.ts';

/** Unflagged cycles of known clients with the problem graded at both ends: arrays of length n. */
export interface ClientRows {
  readonly days: Float64Array;
  /** Day on which the cycle ended. */
  readonly ended: Float64Array;
  readonly start: Uint8Array;
  readonly end: Uint8Array;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly client: Coded;
  readonly groups: ReadonlyMap<Grouping, Coded>;
  /** Row numbers of each client's cycles that began clear. */
  readonly atRisk: readonly (readonly number[])[];
}

/** The condition of all rows. */
export function clientWhere(problem: ProblemKey, adjust: readonly Grouping[]): string {
  return allOf(
    'flag IS NULL',
    `${quoteName(`${problem}_start`)} IS NOT NULL`,
    `${quoteName(`${problem}_end`)} IS NOT NULL`,
    ...adjust.map(isKnown),
  );
}

/** Those that began clear; of one client where named. */
export function atRiskWhere(problem: ProblemKey, adjust: readonly Grouping[], client?: string): string {
  return allOf(
    clientWhere(problem, adjust),
    `NOT ${quoteName(`${problem}_start`)}`,
    client === undefined ? isKnown('client_id') : isLevel('client_id', client),
  );
}

/** The rows, from columns of the whole cohort. */
export const clientAsk = ({ problem }: ClientOptions, adjust: readonly Grouping[]): CycleAsk => ({
  columns: { ...stateColumns(problem, adjust), client_id: groupAsk('client_id'), ended: endedAsk },
  where: gradedCycles(problem, [...adjust, 'client_id']),
});

/** Rows by horse, foot and day. */
export function gatherClients(table: Table): ClientRows {
  const rows = footRows(table);
  const client = rows.coded('client_id');
  const start = rows.marks('present_start');
  return {
    days: rows.numbers('days'),
    ended: rows.numbers('ended'),
    start,
    end: rows.marks('present_end'),
    horse: rows.horse,
    foot: rows.foot,
    client,
    groups: rows.groups,
    atRisk: rowsByLevel(client).map((of) => of.filter((row) => start[row] === 0)),
  };
}
