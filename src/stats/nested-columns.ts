import type { SquareMatrix } from './linear-algebra.ts';

/**
 * `u` without the columns that are 0 in a whole cluster: of cluster g the columns in `columns` from columnStart[g] up to
 * columnStart[g + 1], and its units' values one unit after the other from valueStart[g].
 */
export interface OwnColumns {
  readonly columns: Int32Array;
  readonly columnStart: Int32Array;
  readonly values: Float64Array;
  readonly valueStart: Int32Array;
}

/** `u` holds units × p values; units lie together by cluster. */
export function ownColumns(clusterStart: Int32Array, u: Float64Array, p: number): OwnColumns {
  const columns = new Int32Array((clusterStart.length - 1) * p);
  const columnStart = new Int32Array(clusterStart.length);
  const valueStart = new Int32Array(clusterStart.length);
  let size = 0;
  let filled = 0;
  for (let g = 0; g + 1 < clusterStart.length; g++) {
    const to = clusterStart[g + 1]!;
    for (let j = 0; j < p; j++) {
      let unit = clusterStart[g]!;
      while (unit < to && u[unit * p + j] === 0) unit++;
      if (unit < to) columns[size++] = j;
    }
    columnStart[g + 1] = size;
    filled += (to - clusterStart[g]!) * (size - columnStart[g]!);
    valueStart[g + 1] = filled;
  }
  const values = new Float64Array(filled);
  for (let g = 0, at = 0; g + 1 < clusterStart.length; g++) {
    const end = columnStart[g + 1]!;
    for (let unit = clusterStart[g]!; unit < clusterStart[g + 1]!; unit++) {
      for (let i = columnStart[g]!; i < end; i++) values[at++] = u[unit * p + columns[i]!]!;
    }
  }
  return { columns: columns.slice(0, size), columnStart, values, valueStart };
}

/** a += factor · w w', w the m values at offset of from; of a the lower half alone, row after row. */
export function addOuter(
  a: Float64Array,
  from: Float64Array,
  offset: number,
  m: number,
  factor: number,
): void {
  let place = 0;
  for (let i = 0; i < m; i++) {
    const value = factor * from[offset + i]!;
    for (let j = 0; j <= i; j++) a[place++]! += value * from[offset + j]!;
  }
}

/** The same into two matrices at once, each with a factor of its own. */
export function addTwoOuters(
  a: Float64Array,
  b: Float64Array,
  from: Float64Array,
  offset: number,
  m: number,
  factorA: number,
  factorB: number,
): void {
  let place = 0;
  for (let i = 0; i < m; i++) {
    const value = from[offset + i]!;
    for (let j = 0; j <= i; j++, place++) {
      const product = value * from[offset + j]!;
      a[place]! += factorA * product;
      b[place]! += factorB * product;
    }
  }
}

/** a += factor · (w d' + d w'), the lower half alone, row after row. */
export function addCross(a: Float64Array, w: Float64Array, d: Float64Array, m: number, factor: number): void {
  let place = 0;
  for (let i = 0; i < m; i++) {
    for (let j = 0; j <= i; j++) a[place++]! += factor * (w[i]! * d[j]! + d[i]! * w[j]!);
  }
}

/** Adds what was summed over the own columns of cluster g to the lower half of a; those columns ascend. */
export function scatter(a: SquareMatrix, p: number, half: Float64Array, own: OwnColumns, g: number): void {
  const from = own.columnStart[g]!;
  const to = own.columnStart[g + 1]!;
  let place = 0;
  for (let i = from; i < to; i++) {
    const row = own.columns[i]! * p;
    for (let j = from; j <= i; j++) a[row + own.columns[j]!]! += half[place++]!;
  }
}
