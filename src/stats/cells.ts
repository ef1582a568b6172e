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
  /** Which cells occur in which clusters: pair i says that cluster `pairCluster[i]` holds `pairCount[i]` of cell `pairCell[i]`. */
  readonly pairCluster: Int32Array;
  readonly pairCell: Int32Array;
  readonly pairCount: Float64Array;
}

/**
 * Collapses n rows by equality of every column (columns of length n). Clusters are any integers; they are
 * renumbered from 0 in order of appearance. `weight` counts a row as that many rows; rows of weight 0 are left out.
 * Errors: columns or clusters of another length, a value that is not finite, a negative weight.
 */
export function collapseRows(
  columns: readonly ArrayLike<number>[],
  cluster: ArrayLike<number>,
  weight?: ArrayLike<number>,
): Cells {
  const n = cluster.length;
  if (weight && weight.length !== n)
    throw new Error(`weight must be as long as cluster: ${weight.length}, ${n}`);
  let cellOf = new Int32Array(n);
  for (const column of columns) {
    if (column.length !== n) throw new Error(`column must be as long as cluster: ${column.length}, ${n}`);
    cellOf = refine(cellOf, codes(column));
  }
  const clusterOf = codes(cluster);
  if (weight) {
    for (let row = 0; row < n; row += 1) {
      if (!(weight[row]! >= 0 && weight[row]! < Number.POSITIVE_INFINITY)) {
        throw new Error(`weight must be 0 or more and finite: ${weight[row]}`);
      }
    }
  }
  return tally(cellOf, clusterOf, weight);
}

/** Numbers the distinct values of a column from 0, in order of appearance. */
function codes(column: ArrayLike<number>): Int32Array {
  const numberOf = new Map<number, number>();
  const out = new Int32Array(column.length);
  let last = Number.NaN;
  let lastCode = 0;
  for (let row = 0; row < column.length; row += 1) {
    const value = column[row]!;
    if (value !== last) {
      if (!Number.isFinite(value)) throw new Error(`column must hold finite numbers: ${value} in row ${row}`);
      let code = numberOf.get(value);
      if (code === undefined) {
        code = numberOf.size;
        numberOf.set(value, code);
      }
      last = value;
      lastCode = code;
    }
    out[row] = lastCode;
  }
  return out;
}

/** Splits each group of `group` by `code`, numbering again from 0. */
function refine(group: Int32Array, code: Int32Array): Int32Array<ArrayBuffer> {
  let levels = 0;
  for (const c of code) if (c >= levels) levels = c + 1;
  if (levels <= 1) return Int32Array.from(group);
  const numberOf = new Map<number, number>();
  const out = new Int32Array(group.length);
  for (let row = 0; row < group.length; row += 1) {
    const key = group[row]! * levels + code[row]!;
    let number = numberOf.get(key);
    if (number === undefined) {
      number = numberOf.size;
      numberOf.set(key, number);
    }
    out[row] = number;
  }
  return out;
}

function tally(cellOf: Int32Array, clusterOf: Int32Array, weight?: ArrayLike<number>): Cells {
  const n = cellOf.length;
  const pairNumber = new Map<number, number>();
  const number = new Map<number, number>();
  const clusterNumber = new Map<number, number>();
  const firstRow: number[] = [];
  const count: number[] = [];
  const pairCluster: number[] = [];
  const pairCell: number[] = [];
  const pairCount: number[] = [];
  let nRows = 0;
  for (let row = 0; row < n; row += 1) {
    const w = weight ? weight[row]! : 1;
    if (w === 0) continue;
    nRows += w;
    const cell = numbered(number, cellOf[row]!);
    const cluster = numbered(clusterNumber, clusterOf[row]!);
    if (cell === firstRow.length) {
      firstRow.push(row);
      count.push(0);
    }
    count[cell]! += w;
    const pair = numbered(pairNumber, cell * n + cluster);
    if (pair === pairCell.length) {
      pairCell.push(cell);
      pairCluster.push(cluster);
      pairCount.push(0);
    }
    pairCount[pair]! += w;
  }
  return {
    nRows,
    nCells: firstRow.length,
    nClusters: clusterNumber.size,
    firstRow: Int32Array.from(firstRow),
    count: Float64Array.from(count),
    pairCluster: Int32Array.from(pairCluster),
    pairCell: Int32Array.from(pairCell),
    pairCount: Float64Array.from(pairCount),
  };
}

function numbered(numberOf: Map<number, number>, key: number): number {
  const known = numberOf.get(key);
  if (known !== undefined) return known;
  numberOf.set(key, numberOf.size);
  return numberOf.size - 1;
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
  return Array.from({ length: columns }, (_, j) =>
    Float64Array.from({ length: n }, (_unused, row) => matrix[row * columns + j]!),
  );
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
