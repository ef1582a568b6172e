import type { GridPlace } from './grid-keys.ts';

/** A rectangle of cells, both ends included. */
export interface CellRange {
  readonly top: number;
  readonly bottom: number;
  readonly left: number;
  readonly right: number;
}

/** The rectangle between two cells; a heading counts as the first row. */
export function rangeBetween(a: GridPlace, b: GridPlace): CellRange {
  return {
    top: Math.max(0, Math.min(a.row, b.row)),
    bottom: Math.max(0, a.row, b.row),
    left: Math.min(a.column, b.column),
    right: Math.max(a.column, b.column),
  };
}

export function cellCount({ top, bottom, left, right }: CellRange): number {
  return (bottom - top + 1) * (right - left + 1);
}
