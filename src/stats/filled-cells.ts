/** Covariates of one predictor, row-major nCells × columns. */
export interface Design {
  readonly columns: number;
  readonly values: Float64Array;
}

/**
 * The covariates of each cell that are not 0, in the order of the parameters (those of the first predictor, then those of
 * the second, and so on): of cell c from start[c] up to start[c + 1]. Most are marks, of which few are set.
 */
export interface FilledCells {
  /** Parameters in all. */
  readonly q: number;
  readonly start: Int32Array;
  /** The parameter to which each belongs, and the predictor. */
  readonly place: Int32Array;
  readonly owner: Uint8Array;
  readonly value: Float64Array;
}

export function filledCells(designs: readonly Design[], nCells: number): FilledCells {
  const q = designs.reduce((sum, { columns }) => sum + columns, 0);
  const start = new Int32Array(nCells + 1);
  const place = new Int32Array(nCells * q);
  const owner = new Uint8Array(nCells * q);
  const value = new Float64Array(nCells * q);
  let size = 0;
  for (let cell = 0; cell < nCells; cell += 1) {
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
    start[cell + 1] = size;
  }
  return { q, start, place: place.slice(0, size), owner: owner.slice(0, size), value: value.slice(0, size) };
}

/** The linear predictors of one cell at theta (q values), written to eta. */
export function predictorsAt(
  { start, place, owner, value }: FilledCells,
  theta: Float64Array,
  cell: number,
  eta: Float64Array,
): void {
  for (let a = 0; a < eta.length; a += 1) eta[a] = 0;
  const end = start[cell + 1]!;
  for (let i = start[cell]!; i < end; i += 1) eta[owner[i]!]! += value[i]! * theta[place[i]!]!;
}

/** Σ weight·x x' over the cells, of all covariates together: q × q. */
export function crossProduct({ q, start, place, value }: FilledCells, weight: Float64Array): Float64Array {
  const cross = new Float64Array(q * q);
  for (let cell = 0; cell < weight.length; cell += 1) {
    for (let i = start[cell]!; i < start[cell + 1]!; i += 1) {
      const left = weight[cell]! * value[i]!;
      const row = place[i]! * q;
      for (let j = i; j < start[cell + 1]!; j += 1) cross[row + place[j]!]! += left * value[j]!;
    }
  }
  copyUpper(cross, q);
  return cross;
}

/** Makes a matrix of which only the upper half was filled symmetric. */
export function copyUpper(matrix: Float64Array, q: number): void {
  for (let i = 0; i < q; i += 1) for (let j = 0; j < i; j += 1) matrix[i * q + j] = matrix[j * q + i]!;
}
