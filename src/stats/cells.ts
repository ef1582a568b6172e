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
  /** For each pair, one row of that cluster with the cell's values. */
  readonly pairRow: Int32Array;
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
  return smallCodes(column) ?? anyCodes(column);
}

/** Whole numbers from 0 to below this are looked up in an array: most columns are marks of 0 and 1, days, or codes. */
const SMALL_NUMBER = 1 << 16;

/** The same of a column of small whole numbers; null for any other. */
function smallCodes(column: ArrayLike<number>): Int32Array | null {
  let most = 0;
  for (let row = 0; row < column.length; row += 1) {
    const value = column[row]!;
    if (!(value >= 0 && value < SMALL_NUMBER) || (value | 0) !== value) return null;
    if (value > most) most = value;
  }
  const codeOf = new Int32Array(most + 1).fill(-1);
  const out = new Int32Array(column.length);
  let next = 0;
  for (let row = 0; row < column.length; row += 1) {
    const value = column[row]!;
    let code = codeOf[value]!;
    if (code === -1) {
      code = next++;
      codeOf[value] = code;
    }
    out[row] = code;
  }
  return out;
}

function anyCodes(column: ArrayLike<number>): Int32Array {
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

/** Up to this many combinations are looked up in an array, more in a map. */
const SMALL_TABLE = 4_000_000;

/** Splits each group of `group` by `code`, numbering again from 0. */
function refine(group: Int32Array, code: Int32Array): Int32Array<ArrayBuffer> {
  let levels = 0;
  for (const c of code) if (c >= levels) levels = c + 1;
  if (levels <= 1) return Int32Array.from(group);
  let groups = 0;
  for (const g of group) if (g >= groups) groups = g + 1;
  const out = new Int32Array(group.length);
  if (groups * levels <= SMALL_TABLE) {
    const table = new Int32Array(groups * levels).fill(-1);
    let next = 0;
    for (let row = 0; row < group.length; row += 1) {
      const key = group[row]! * levels + code[row]!;
      if (table[key] === -1) table[key] = next++;
      out[row] = table[key]!;
    }
    return out;
  }
  const numberOf = new Map<number, number>();
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
  const number = new Int32Array(n).fill(-1);
  const clusterNumber = new Int32Array(n).fill(-1);
  const firstRow: number[] = [];
  const count: number[] = [];
  const used = new Int32Array(n);
  let nUsed = 0;
  let nClusters = 0;
  let nRows = 0;
  // Codes are renumbered, since those of rows of weight 0 alone are not wanted.
  for (let row = 0; row < n; row += 1) {
    const w = weight ? weight[row]! : 1;
    if (w === 0) continue;
    nRows += w;
    used[nUsed] = row;
    nUsed += 1;
    const code = cellOf[row]!;
    if (number[code] === -1) {
      number[code] = firstRow.length;
      firstRow.push(row);
      count.push(0);
    }
    count[number[code]!]! += w;
    const cluster = clusterOf[row]!;
    if (clusterNumber[cluster] === -1) {
      clusterNumber[cluster] = nClusters;
      nClusters += 1;
    }
  }
  const byCluster = ordered(used.subarray(0, nUsed), (row) => clusterNumber[clusterOf[row]!]!, nClusters);
  const pairCluster: number[] = [];
  const pairCell: number[] = [];
  const pairCount: number[] = [];
  const pairRow: number[] = [];
  const lastPair = new Int32Array(firstRow.length).fill(-1);
  for (const row of byCluster) {
    const cell = number[cellOf[row]!]!;
    const cluster = clusterNumber[clusterOf[row]!]!;
    let pair = lastPair[cell]!;
    if (pair === -1 || pairCluster[pair] !== cluster) {
      pair = pairCell.length;
      lastPair[cell] = pair;
      pairCluster.push(cluster);
      pairCell.push(cell);
      pairCount.push(0);
      pairRow.push(row);
    }
    pairCount[pair]! += weight ? weight[row]! : 1;
  }
  return {
    nRows,
    nCells: firstRow.length,
    nClusters,
    firstRow: Int32Array.from(firstRow),
    count: Float64Array.from(count),
    pairCluster: Int32Array.from(pairCluster),
    pairCell: Int32Array.from(pairCell),
    pairCount: Float64Array.from(pairCount),
    pairRow: Int32Array.from(pairRow),
  };
}

/** Rows sorted by a key in 0 … keys − 1, those of one key in their own order (counting sort). */
function ordered(rows: Int32Array, keyOf: (row: number) => number, keys: number): Int32Array {
  const next = new Int32Array(keys + 1);
  for (const row of rows) next[keyOf(row) + 1]! += 1;
  for (let key = 0; key < keys; key += 1) next[key + 1]! += next[key]!;
  const out = new Int32Array(rows.length);
  for (const row of rows) {
    const key = keyOf(row);
    out[next[key]!] = row;
    next[key]! += 1;
  }
  return out;
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
