import { numbers, type Table } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import type { ProblemKey } from '../../herd/problems.ts';
import { footOrder, inOrder } from '../foot-order.ts';
import {
  allOf,
  type Coded,
  codeColumn,
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
    FROM trim_cycle WHERE ${allOf(clientWhere(problem, adjust), isKnown('client_id'))}`;
}

/** Rows in any order, by horse, foot and day afterwards. */
export function gatherClients(table: Table): ClientRows {
  const allFeet = codeColumn(table, 'foot_key');
  const order = footOrder(allFeet.codes, numbers(table, 'next_date'), allFeet.levels.length);
  const put = (name: string): Float64Array => inOrder(numbers(table, name), order);
  const coded = (name: string): Coded => {
    const { levels, codes } = codeColumn(table, name);
    return { levels, codes: inOrder(codes, order) };
  };
  const client = coded('client_id');
  const start = Uint8Array.from(put('present_start'));
  const groups = new Map<Grouping, Coded>();
  for (const name of Object.keys(table.columns)) {
    if (name.startsWith('by ')) groups.set(name.slice(3), coded(name));
  }
  return {
    days: put('days'),
    ended: put('next_date'),
    start,
    end: Uint8Array.from(put('present_end')),
    horse: coded('horse_id').codes,
    foot: inOrder(allFeet.codes, order),
    client,
    groups,
    atRisk: rowsByLevel(client).map((rows) => rows.filter((row) => start[row] === 0)),
  };
}
