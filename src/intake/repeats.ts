import type { ColumnName } from '../herd/dictionary.ts';
import type { Read } from './read.ts';
import type { Value } from './values/parsed.ts';

/** A candidate row of one of several files. */
export interface RowRef {
  readonly read: number;
  readonly candidate: number;
}

/** What happens to a row that shares horse, day and foot (or horse) with others. */
type Repeat =
  | { readonly kind: 'same'; readonly row: RowRef; readonly first: RowRef }
  | {
      readonly kind: 'conflict';
      readonly row: RowRef;
      /** The first of them. */
      readonly others: readonly RowRef[];
      /** How many others there are. */
      readonly many: number;
    };

/** Of many rows in conflict each names so many others: all of them for each would be their number squared. */
const OTHERS_NAMED = 5;

/**
 * Rows that repeat a key across all files. Rows alike in every value: all but the first are 'same'. Rows that
 * differ: every one is a 'conflict', since nothing says which to believe. `keys` has a number for every candidate.
 */
export function findRepeats(
  reads: readonly Read[],
  keys: readonly Float64Array[],
  compared: readonly ColumnName[],
): Repeat[] {
  const readers = reads.map((read) => compared.map((target) => read.reader(target)));
  const valuesOf = ({ read, candidate }: RowRef): Value[] =>
    (readers[read] ?? []).map((lookup) => lookup(candidate));
  return [...repeatedGroups(keys).values()].flatMap((group): Repeat[] => {
    const [first, ...rest] = group as [RowRef, ...RowRef[]];
    const firstValues = valuesOf(first);
    const alike = rest.every((row) => valuesOf(row).every((value, i) => value === firstValues[i]));
    if (alike) return rest.map((row) => ({ kind: 'same', row, first }));
    const firstOnes = group.slice(0, OTHERS_NAMED + 1);
    const many = group.length - 1;
    return group.map((row) => {
      const others = firstOnes.filter((other) => other !== row).slice(0, OTHERS_NAMED);
      return { kind: 'conflict', row, others, many };
    });
  });
}

function rises(keys: Float64Array): boolean {
  for (let i = 1; i < keys.length; i++) if ((keys[i] as number) <= (keys[i - 1] as number)) return false;
  return true;
}

/** Keys are sorted as plain numbers, which holds millions of rows in less room than a map of them all. */
function repeatedGroups(keys: readonly Float64Array[]): Map<number, RowRef[]> {
  const sorted = new Float64Array(keys.reduce((sum, k) => sum + k.length, 0));
  let at = 0;
  for (const k of keys) {
    sorted.set(k, at);
    at += k.length;
  }
  if (rises(sorted)) return new Map();
  sorted.sort();
  const groups = new Map<number, RowRef[]>();
  for (let i = 1; i < sorted.length; i++)
    if (sorted[i] === sorted[i - 1]) groups.set(sorted[i] as number, []);
  if (groups.size === 0) return groups;
  keys.forEach((k, read) => {
    k.forEach((key, candidate) => {
      groups.get(key)?.push({ read, candidate });
    });
  });
  return groups;
}
