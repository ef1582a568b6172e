import type { Amendment, RowKey } from './amendment.ts';
import type { Conflict } from './conflict.ts';
import type { RowEffect, RowValues } from './effect.ts';
import { countingIds } from './history.ts';
import { identityOf } from './row-key.ts';

const PARTS: readonly string[] = ['horse_id', 'visit_date', 'foot'];

/**
 * Holds a foot to one row a day. Rows that stand where their source has them go first, then the others in the order of
 * the log; one that finds its place taken is a conflict: an added row is left out, a moved one stays where it was.
 * `outside` are the places taken by rows that no amendment names.
 */
export function settleIdentities(
  log: readonly Amendment[],
  effects: ReadonlyMap<RowKey, RowEffect>,
  source: (row: RowKey) => RowValues | null,
  outside: ReadonlySet<string>,
): { readonly rows: Map<RowKey, RowEffect>; readonly conflicts: readonly Conflict[] } {
  const rows = new Map(effects);
  const conflicts: Conflict[] = [];
  const counting = countingIds(log);
  const place = (row: RowKey): string => identityOf({ ...source(row), ...rows.get(row)!.values });
  const isHome = (row: RowKey): boolean => {
    const values = source(row);
    return values !== null && identityOf(values) === place(row);
  };
  /** The last deed that put a row in its place. */
  const placing = (row: RowKey): number =>
    log.findLastIndex(
      ({ id, deed }) =>
        counting.has(id) &&
        ((deed.kind === 'change' && deed.row === row && PARTS.includes(deed.column)) ||
          (deed.kind === 'add' && deed.row === row)),
    );
  // A row sent home can find another in its place, so the whole is gone through again after every refusal.
  for (;;) {
    const taken = new Set(outside);
    const standing = [...rows.keys()].filter((row) => rows.get(row)!.there);
    const away = standing.filter((row) => !isHome(row)).sort((a, b) => placing(a) - placing(b));
    const refused = [...standing.filter(isHome), ...away].find((row) => {
      if (taken.has(place(row))) return true;
      taken.add(place(row));
      return false;
    });
    if (refused === undefined || isHome(refused)) return { rows, conflicts };
    const effect = rows.get(refused)!;
    const amendment = log[placing(refused)];
    if (amendment) conflicts.push({ amendment, reason: 'row is there already', found: null });
    const kept = Object.entries(effect.values).filter(([column]) => !PARTS.includes(column));
    rows.set(
      refused,
      effect.added ? { ...effect, there: false } : { ...effect, values: Object.fromEntries(kept) },
    );
  }
}
