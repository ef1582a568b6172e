import type { FootRow } from './foot-row.ts';
import type { Draw } from './random.ts';
import { TRUTH } from './truth.ts';

const SHARES = Object.entries(TRUTH.missing) as [keyof typeof TRUTH.missing, number][];

/** Blanks cells of a row, each column with its own chance, whatever the value. */
export function blankCells(row: FootRow, draw: Draw): void {
  for (const [column, share] of SHARES) {
    if (draw.chance(share)) row[column] = null;
  }
}
