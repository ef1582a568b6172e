import type { RowKey } from '../sheet/amendment.ts';
import type { RowValues } from '../sheet/effect.ts';
import type { WrittenRow } from './amended-rows-sql.ts';

/** What an application of amendments did to the rows of the herd. */
export interface Touched {
  /** Rows came, went or were moved. */
  readonly rows: boolean;
  readonly columns: ReadonlySet<string>;
}

/** Which rows came or went, and in which columns those that stayed have changed. */
export function difference(
  before: ReadonlyMap<RowKey, RowValues>,
  after: ReadonlyMap<RowKey, WrittenRow>,
): Touched {
  const columns = new Set<string>();
  for (const [row, values] of before) {
    const now = after.get(row);
    if (!now) continue;
    for (const [name, value] of Object.entries(values)) if (value !== now[name]) columns.add(name);
  }
  const isSame = before.size === after.size && [...before.keys()].every((row) => after.has(row));
  return { rows: !isSame, columns };
}
