import { numberAlike } from './alike.ts';
import type { Numbered } from './number-keys.ts';

/** Covariates of one predictor, row-major nCells × columns. */
export interface Design {
  readonly columns: number;
  readonly values: Float64Array;
}

/**
 * The covariates of cells that are not 0, in the order of the parameters (those of the first predictor, then those of the
 * second, and so on). Many cells share all of theirs and differ in time or states alone: cell c has the covariates of
 * number `numberOf[c]`, and those of number k stand from start[k] up to start[k + 1]. Most are marks, of which few are set.
 */
export interface FilledCells {
  /** Parameters in all. */
  readonly q: number;
  readonly numberOf: Int32Array;
  readonly start: Int32Array;
  /** The parameter to which each belongs, and the predictor. */
  readonly place: Int32Array;
  readonly owner: Uint8Array;
  readonly value: Float64Array;
}

/** Numbers cells such that those with the same covariates, and no others, share a number. */
export const alikeDesigns = (designs: readonly Design[], nCells: number): Numbered =>
  numberAlike(
    designs.map(({ columns, values }) => ({ matrix: values, width: columns })),
    nCells,
  );

/** Room for so many is made without a look at how many there are: to count them takes as long as to copy them. */
const MOST_UNCOUNTED = 1 << 22;

/**
 * `alike` where it is known which cells share their covariates; those that do may have several numbers. Its `firstRow` are
 * rows of the designs.
 */
export function filledCells(
  designs: readonly Design[],
  nCells: number,
  { numberOf, firstRow }: Numbered = alikeDesigns(designs, nCells),
): FilledCells {
  const q = designs.reduce((sum, { columns }) => sum + columns, 0);
  const start = new Int32Array(firstRow.length + 1);
  const most = firstRow.length * q;
  const room = most > MOST_UNCOUNTED ? countFilled(designs, firstRow) : most;
  const place = new Int32Array(room);
  const owner = new Uint8Array(room);
  const value = new Float64Array(room);
  let size = 0;
  for (let k = 0; k < firstRow.length; k += 1) {
    const cell = firstRow[k]!;
    let at = 0;
    for (let a = 0; a < designs.length; a += 1) {
      const { columns, values } = designs[a]!;
      for (let i = cell * columns; i < (cell + 1) * columns; i += 1, at += 1) {
        if (values[i] === 0) continue;
        place[size] = at;
        owner[size] = a;
        value[size] = values[i]!;
        size += 1;
      }
    }
    start[k + 1] = size;
  }
  return {
    q,
    numberOf,
    start,
    place: upTo(place, size),
    owner: upTo(owner, size),
    value: upTo(value, size),
  };
}

/** How many covariates of those rows are not 0. */
function countFilled(designs: readonly Design[], rows: Int32Array): number {
  let count = 0;
  for (const { columns, values } of designs) {
    for (let k = 0; k < rows.length; k += 1) {
      const from = rows[k]! * columns;
      for (let i = from; i < from + columns; i += 1) if (values[i] !== 0) count += 1;
    }
  }
  return count;
}

const upTo = <A extends Float64Array | Int32Array | Uint8Array>(values: A, size: number): A =>
  size === values.length ? values : (values.slice(0, size) as A);

/** The m linear predictors of each number of covariates at theta (q values), row-major. */
export function predictorsOf(
  { start, place, owner, value }: FilledCells,
  theta: Float64Array,
  m: number,
): Float64Array {
  const eta = new Float64Array((start.length - 1) * m);
  for (let k = 0, at = 0; at < eta.length; k += 1, at += m) {
    const end = start[k + 1]!;
    for (let i = start[k]!; i < end; i += 1) eta[at + owner[i]!]! += value[i]! * theta[place[i]!]!;
  }
  return eta;
}

/** Σ weight·x x' over the cells, of all covariates together: q × q. */
export function crossProduct(
  { q, numberOf, start, place, value }: FilledCells,
  weight: Float64Array,
): Float64Array {
  const cross = new Float64Array(q * q);
  const weights = new Float64Array(start.length - 1);
  for (let cell = 0; cell < numberOf.length; cell += 1) weights[numberOf[cell]!]! += weight[cell]!;
  for (let k = 0; k < weights.length; k += 1) {
    for (let i = start[k]!; i < start[k + 1]!; i += 1) {
      const left = weights[k]! * value[i]!;
      const row = place[i]! * q;
      for (let j = i; j < start[k + 1]!; j += 1) cross[row + place[j]!]! += left * value[j]!;
    }
  }
  copyUpper(cross, q);
  return cross;
}

/** Makes a matrix of which only the upper half was filled symmetric. */
export function copyUpper(matrix: Float64Array, q: number): void {
  for (let i = 0; i < q; i += 1) for (let j = 0; j < i; j += 1) matrix[i * q + j] = matrix[j * q + i]!;
}
