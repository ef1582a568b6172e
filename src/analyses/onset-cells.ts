import { type Cells, collapseRows } from '../stats/cells.ts';
import type { Numbered } from '../stats/number-keys.ts';
import { countedTransitions, type TransitionCells } from '../stats/transition-data.ts';
import { type DesignColumns, designMatrix } from './design-columns.ts';
import { inOrder } from './foot-order.ts';

/** Trim cycles with a problem graded at both ends: arrays of length n. */
interface OnsetRows {
  /** 0 clear, 1 present, after the trim and at the next visit. */
  readonly start: ArrayLike<number>;
  readonly end: ArrayLike<number>;
  readonly days: ArrayLike<number>;
  readonly horse: ArrayLike<number>;
}

/**
 * What a model of onset is fitted to, collapsed from the rows at once: a matrix of covariates is made of the cells alone,
 * of which there are far fewer. `columns` tell rows apart: by their states, days and covariates, and nothing less;
 * `weight` counts a row so often, 0 leaves it out. Clearing goes at one rate.
 */
export function onsetCells(
  { start, end, days, horse }: OnsetRows,
  columns: readonly ArrayLike<number>[],
  onset: DesignColumns,
  weight?: ArrayLike<number>,
): TransitionCells {
  const cells = collapseRows(columns, horse, weight);
  const at = (values: ArrayLike<number>): Float64Array =>
    Float64Array.from(cells.firstRow, (row) => values[row]!);
  return transitionsOf(cells, { start: at(start), end: at(end), days: at(days) }, onset);
}

/**
 * The same of rows that are collapsed already: values of each cell. `onset` are columns of rows; `alike` numbers cells that
 * share them, where that is known: they are then written once for each number.
 */
export function transitionsOf(
  cells: Cells,
  { start, end, days }: Readonly<Record<'start' | 'end' | 'days', Float64Array>>,
  onset: DesignColumns,
  alike?: Numbered,
): TransitionCells {
  const rows = alike ? inOrder(cells.firstRow, alike.firstRow) : cells.firstRow;
  return countedTransitions({
    ...(alike && { alike: { numberOf: alike.numberOf, firstRow: Int32Array.from(rows.keys()) } }),
    cells,
    start,
    end,
    time: days,
    onset: { columns: onset.names.length, values: designMatrix(onset, rows) },
    onsetTerms: onset.names,
    clearing: { columns: 1, values: new Float64Array(rows.length).fill(1) },
    clearingTerms: ['clearing'],
  });
}
