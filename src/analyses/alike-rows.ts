import { collapseRows } from '../stats/cells.ts';

/** Rows that stand for others, and for how many each: arrays of length n. */
export interface AlikeRows {
  readonly rows: readonly number[];
  readonly weight: readonly number[];
}

/**
 * One row for all of a horse that are alike in every column. Feet of a horse share their visits, so that there are far
 * fewer of these than trim cycles, and what a model sums over cycles is the same by weight. `keep`: 1 for the rows
 * wanted, all where absent. Errors: a value that is not finite.
 */
export function alikeRows(
  columns: readonly ArrayLike<number>[],
  horse: Int32Array,
  keep?: Uint8Array,
): AlikeRows {
  const { pairRow, pairCount } = collapseRows(columns, horse, keep);
  return { rows: Array.from(pairRow), weight: Array.from(pairCount) };
}

/** Those of them that pass. */
export function alikeWhere({ rows, weight }: AlikeRows, passes: (row: number) => boolean): AlikeRows {
  const places = Array.from(rows.keys()).filter((place) => passes(rows[place]!));
  return { rows: places.map((place) => rows[place]!), weight: places.map((place) => weight[place]!) };
}
