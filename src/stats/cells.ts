import { makeRoom } from '../core/let-go.ts';
import { numberAlike, type RowBlock } from './alike.ts';
import { type Numbered, numberIds } from './number-keys.ts';

/**
 * Rows collapsed to the distinct combinations of values that a likelihood can tell apart, with how often each
 * occurs in all and in each cluster. A sum over rows, or over the rows of one cluster, of any function of those
 * values is then a sum over cells: a million rows often become a few thousand.
 */
export interface Cells {
  readonly nRows: number;
  readonly nCells: number;
  readonly nClusters: number;
  /** For each cell, one row that has its values. */
  readonly firstRow: Int32Array;
  /** For each cell, its number of rows, or the sum of their weights. */
  readonly count: Float64Array;
  /**
   * Which cells occur in which clusters, cluster after cluster: pair i says that cluster `pairCluster[i]` holds
   * `pairCount[i]` of cell `pairCell[i]`.
   */
  readonly pairCluster: Int32Array;
  readonly pairCell: Int32Array;
  readonly pairCount: Float64Array;
  /** For each pair, one row of that cluster with the cell's values. */
  readonly pairRow: Int32Array;
}

/**
 * Collapses n rows by equality of every column (columns of length n, or blocks of n rows). Clusters are any integers;
 * they are renumbered from 0 in order of appearance. `weight` counts a row as that many rows; rows of weight 0 are left
 * out. Errors: columns or clusters of another length, a value that is not finite, a negative weight.
 */
export function collapseRows(
  columns: readonly (ArrayLike<number> | RowBlock)[],
  cluster: ArrayLike<number>,
  weight?: ArrayLike<number>,
): Cells {
  const n = cluster.length;
  if (weight && weight.length !== n)
    throw new Error(`weight must be as long as cluster: ${weight.length}, ${n}`);
  if (weight) {
    for (let row = 0; row < n; row += 1) {
      if (!(weight[row]! >= 0 && weight[row]! < Number.POSITIVE_INFINITY)) {
        throw new Error(`weight must be 0 or more and finite: ${weight[row]}`);
      }
    }
  }
  makeRoom(n, 40 * n);
  const { numberOf: cellOf, firstRow } = numberRows(columns, n, weight);
  const { numberOf: clusterOf, firstRow: firstOfCluster } = numberIds(cluster, weight);
  const nClusters = firstOfCluster.length;
  const order = byCluster(clusterOf, nClusters);
  const pairs = {
    cluster: new Int32Array(order.length),
    cell: new Int32Array(order.length),
    count: new Float64Array(order.length),
    // A pair comes after as many rows at least: its place in the order has been read.
    row: order,
  };
  const count = new Float64Array(firstRow.length);
  const lastPair = new Int32Array(firstRow.length).fill(-1);
  let nPairs = 0;
  let nRows = 0;
  for (let i = 0; i < order.length; i += 1) {
    const row = order[i]!;
    const cell = cellOf[row]!;
    const w = weight ? weight[row]! : 1;
    nRows += w;
    count[cell]! += w;
    let pair = lastPair[cell]!;
    if (pair === -1 || pairs.cluster[pair] !== clusterOf[row]) {
      pair = nPairs++;
      lastPair[cell] = pair;
      pairs.cluster[pair] = clusterOf[row]!;
      pairs.cell[pair] = cell;
      pairs.row[pair] = row;
    }
    pairs.count[pair]! += w;
  }
  return {
    nRows,
    nCells: firstRow.length,
    nClusters,
    firstRow,
    count,
    pairCluster: pairs.cluster.slice(0, nPairs),
    pairCell: pairs.cell.slice(0, nPairs),
    pairCount: pairs.count.slice(0, nPairs),
    pairRow: pairs.row.slice(0, nPairs),
  };
}

/** One column of whole numbers is looked up as it is. */
function numberRows(
  columns: readonly (ArrayLike<number> | RowBlock)[],
  n: number,
  weight: ArrayLike<number> | undefined,
): Numbered {
  const [only] = columns;
  return columns.length === 1 && only instanceof Int32Array && only.length === n
    ? numberIds(only, weight)
    : numberAlike(columns, n, weight);
}

/** Rows that belong to a cluster, cluster after cluster, those of one in their own order (counting sort). */
function byCluster(clusterOf: Int32Array, nClusters: number): Int32Array {
  const standing = alreadyByCluster(clusterOf);
  if (standing) return standing;
  const next = new Int32Array(nClusters + 1);
  for (let row = 0; row < clusterOf.length; row += 1)
    if (clusterOf[row]! >= 0) next[clusterOf[row]! + 1]! += 1;
  for (let g = 0; g < nClusters; g += 1) next[g + 1]! += next[g]!;
  const out = new Int32Array(next[nClusters]!);
  for (let row = 0; row < clusterOf.length; row += 1) {
    const g = clusterOf[row]!;
    if (g >= 0) out[next[g]!++] = row;
  }
  return out;
}

/** Rows mostly come cluster after cluster: then they need not be sorted. Null where they do not. */
function alreadyByCluster(clusterOf: Int32Array): Int32Array | null {
  const out = new Int32Array(clusterOf.length);
  let last = 0;
  let size = 0;
  for (let row = 0; row < clusterOf.length; row += 1) {
    const g = clusterOf[row]!;
    if (g < 0) continue;
    if (g < last) return null;
    last = g;
    out[size++] = row;
  }
  return out.subarray(0, size);
}

/** The rows of a row-major n × columns matrix that stand for the cells: row-major nCells × columns. */
export function cellRows(cells: Cells, matrix: Float64Array, columns: number): Float64Array {
  const out = new Float64Array(cells.nCells * columns);
  for (let cell = 0; cell < cells.nCells; cell += 1) {
    const from = cells.firstRow[cell]! * columns;
    for (let j = 0; j < columns; j += 1) out[cell * columns + j] = matrix[from + j]!;
  }
  return out;
}

/** The columns of a row-major n × columns matrix, each as an array of length n. */
export function columnsOf(matrix: Float64Array, n: number, columns: number): Float64Array[] {
  if (matrix.length !== n * columns) {
    throw new Error(`matrix must hold ${n} × ${columns} values: ${matrix.length}`);
  }
  return Array.from({ length: columns }, (_, j) => {
    const column = new Float64Array(n);
    for (let row = 0, at = j; row < n; row += 1, at += columns) column[row] = matrix[at]!;
    return column;
  });
}

/** Sums a row-major nCells × q matrix of scores over each cluster: row-major nClusters × q. */
export function clusterScores(cells: Cells, scores: Float64Array, q: number): Float64Array {
  const out = new Float64Array(cells.nClusters * q);
  for (let pair = 0; pair < cells.pairCell.length; pair += 1) {
    const to = cells.pairCluster[pair]! * q;
    const from = cells.pairCell[pair]! * q;
    const times = cells.pairCount[pair]!;
    for (let j = 0; j < q; j += 1) out[to + j]! += times * scores[from + j]!;
  }
  return out;
}
