import type { ColumnName } from '../herd/dictionary.ts';
import type { Read } from './read.ts';
import type { Value } from './values/parsed.ts';

/** A candidate row of one of several files. */
export interface RowRef {
  readonly read: number;
  readonly candidate: number;
}

/** What happens to a row that shares horse, day and foot (or horse) with others. */
export type Repeat =
  | { readonly kind: 'same'; readonly row: RowRef; readonly first: RowRef }
  | { readonly kind: 'conflict'; readonly row: RowRef; readonly others: readonly RowRef[] };

/**
 * Rows that repeat a key across all files. Rows alike in every value: all but the first are 'same'. Rows that
 * differ: every one is a 'conflict', since nothing says which to believe.
 */
export function findRepeats(
  reads: readonly Read[],
  keyOf: (ref: RowRef) => number,
  compared: readonly ColumnName[],
): Repeat[] {
  const groups = repeatedGroups(reads, keyOf);
  return [...groups.values()].flatMap((group): Repeat[] => {
    const [first, ...rest] = group as [RowRef, ...RowRef[]];
    const alike = rest.every((row) =>
      compared.every((target) => cellOf(reads, row, target) === cellOf(reads, first, target)),
    );
    if (alike) return rest.map((row) => ({ kind: 'same', row, first }));
    return group.map((row) => ({ kind: 'conflict', row, others: group.filter((other) => other !== row) }));
  });
}

export function cellOf(reads: readonly Read[], { read, candidate }: RowRef, target: ColumnName): Value {
  return (reads[read] as Read).value(candidate, target);
}

/** Keys are sorted as plain numbers, which holds millions of rows in less room than a map of them all. */
function repeatedGroups(reads: readonly Read[], keyOf: (ref: RowRef) => number): Map<number, RowRef[]> {
  const total = reads.reduce((sum, read) => sum + read.rows.length, 0);
  const keys = new Float64Array(total);
  let at = 0;
  reads.forEach((r, read) => {
    for (let candidate = 0; candidate < r.rows.length; candidate++) keys[at++] = keyOf({ read, candidate });
  });
  const groups = new Map<number, RowRef[]>();
  const sorted = keys.slice().sort();
  for (let i = 1; i < sorted.length; i++)
    if (sorted[i] === sorted[i - 1]) groups.set(sorted[i] as number, []);
  if (groups.size === 0) return groups;
  at = 0;
  reads.forEach((r, read) => {
    for (let candidate = 0; candidate < r.rows.length; candidate++) {
      groups.get(keys[at++] as number)?.push({ read, candidate });
    }
  });
  return groups;
}
