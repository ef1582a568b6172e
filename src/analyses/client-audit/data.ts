import { numbers, type Table, texts } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import type { ProblemKey } from '../../herd/problems.ts';
import {
  allOf,
  type Coded,
  code,
  type Grouping,
  groupSql,
  isKnown,
  isLevel,
  rowsByLevel,
} from '../groups.ts';
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

export function clientSql({ problem }: ClientOptions, adjust: readonly Grouping[]): string {
  return `
    SELECT client_id, horse_id, foot_key, days, next_date,
      ${quoteName(`${problem}_start`)}::INTEGER AS present_start, ${quoteName(`${problem}_end`)}::INTEGER AS present_end
      ${adjust.map((grouping) => `, ${groupSql(grouping)}::VARCHAR AS ${quoteName(`by ${grouping}`)}`).join('')}
    FROM trim_cycle WHERE ${allOf(clientWhere(problem, adjust), isKnown('client_id'))}
    ORDER BY client_id, horse_id, foot_key, visit_date`;
}

export function gatherClients(table: Table): ClientRows {
  const client = code(texts(table, 'client_id'));
  const start = Uint8Array.from(numbers(table, 'present_start'));
  const groups = new Map<Grouping, Coded>();
  for (const name of Object.keys(table.columns)) {
    if (name.startsWith('by ')) groups.set(name.slice(3), code(texts(table, name)));
  }
  return {
    days: numbers(table, 'days'),
    ended: numbers(table, 'next_date'),
    start,
    end: Uint8Array.from(numbers(table, 'present_end')),
    horse: code(texts(table, 'horse_id')).codes,
    foot: code(texts(table, 'foot_key')).codes,
    client,
    groups,
    atRisk: rowsByLevel(client).map((rows) => rows.filter((row) => start[row] === 0)),
  };
}
