import type { RowBlock } from './alike.ts';
import { type Cells, cellRows, collapseRows } from './cells.ts';
import type { Design } from './filled-cells.ts';
import type { Numbered } from './number-keys.ts';

/** Pairs of looks at two-state processes: one row a pair, all arrays of length n unless said. */
export interface TransitionData {
  /** State, 0 or 1, at the first and at the second look. */
  readonly start: ArrayLike<number>;
  readonly end: ArrayLike<number>;
  /** Time between them, above 0, in the unit that the model names. */
  readonly time: ArrayLike<number>;
  /** Covariates of 0 → 1, row-major n × onsetTerms.length; a column of ones where an intercept is wanted. */
  readonly onset: Float64Array;
  readonly onsetTerms: readonly string[];
  /** Covariates of 1 → 0, row-major n × clearingTerms.length. */
  readonly clearing: Float64Array;
  readonly clearingTerms: readonly string[];
  /** Any integers. */
  readonly cluster: ArrayLike<number>;
  /** How many times each row counts; 1 where absent. */
  readonly weight?: ArrayLike<number>;
  /**
   * Columns of finite numbers, such that rows alike in all of them have the same covariates: fewer columns to tell rows
   * apart by than the covariates themselves, which serve where absent.
   */
  readonly alike?: readonly ArrayLike<number>[];
}

/** The same, collapsed to cells: values of each cell, in the order of the cells. */
export interface TransitionCells {
  readonly cells: Cells;
  readonly start: Float64Array;
  readonly end: Float64Array;
  readonly time: Float64Array;
  readonly onset: Design;
  readonly onsetTerms: readonly string[];
  readonly clearing: Design;
  readonly clearingTerms: readonly string[];
  readonly counts: TransitionCounts;
  /**
   * Numbers cells such that those with the same covariates, and no others, share a number; found here where absent. Its
   * `firstRow` are then rows of the covariates, which need not have one for each cell.
   */
  readonly alike?: Numbered;
}

/** Rows (or weight) from state to state. */
export interface TransitionCounts {
  readonly n00: number;
  readonly n01: number;
  readonly n10: number;
  readonly n11: number;
}

/** Errors: arrays of unequal length, a state other than 0 and 1, a time that is not above 0, values not finite. */
export function transitionCells(data: TransitionData): TransitionCells {
  checkRows(data, data.cluster.length);
  const p = data.onsetTerms.length;
  const r = data.clearingTerms.length;
  const columns = [data.start, data.end, data.time, ...(data.alike ?? designs(data))];
  const cells = collapseRows(columns, data.cluster, data.weight);
  const at = (values: ArrayLike<number>) => Float64Array.from(cells.firstRow, (row) => values[row]!);
  return countedTransitions({
    cells,
    start: at(data.start),
    end: at(data.end),
    time: at(data.time),
    onset: { columns: p, values: cellRows(cells, data.onset, p) },
    onsetTerms: data.onsetTerms,
    clearing: { columns: r, values: cellRows(cells, data.clearing, r) },
    clearingTerms: data.clearingTerms,
  });
}

/** Cells that were collapsed by whoever gathered the rows, with their moves counted. Errors: as of rows. */
export function countedTransitions(given: Omit<TransitionCells, 'counts'>): TransitionCells {
  const { cells, start, end } = given;
  checkRows(given, cells.nCells);
  const total = (from: number, to: number) =>
    cells.count.reduce(
      (sum, count, cell) => (start[cell] === from && end[cell] === to ? sum + count : sum),
      0,
    );
  return { ...given, counts: { n00: total(0, 0), n01: total(0, 1), n10: total(1, 0), n11: total(1, 1) } };
}

function checkRows({ start, end, time }: Pick<TransitionData, 'start' | 'end' | 'time'>, n: number): void {
  for (let row = 0; row < n; row += 1) {
    checkState(start[row], row);
    checkState(end[row], row);
    if (!(time[row]! > 0)) throw new Error(`time must be above 0: ${time[row]} in row ${row}`);
  }
}

function checkState(state: number | undefined, row: number): void {
  if (state !== 0 && state !== 1) throw new Error(`state must be 0 or 1: ${state} in row ${row}`);
}

/** Both rates often have the same covariates: then one look at them is enough. */
function designs({ onset, onsetTerms, clearing, clearingTerms }: TransitionData): RowBlock[] {
  const both = [
    { matrix: onset, width: onsetTerms.length },
    { matrix: clearing, width: clearingTerms.length },
  ];
  return onset === clearing && onsetTerms.length === clearingTerms.length ? both.slice(0, 1) : both;
}
