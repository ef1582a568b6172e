import { type Cells, clusterScores } from './cells.ts';

/**
 * Log-likelihood of one row of a cell as a function of m linear predictors. `at` writes to `out`: the value,
 * its m first derivatives, and its m(m + 1)/2 second derivatives (upper triangle by rows).
 */
export interface CellKernel {
  readonly predictors: number;
  at(cell: number, eta: Float64Array, out: Float64Array): void;
}

/** Covariates of one predictor, row-major nCells × columns. */
export interface Design {
  readonly columns: number;
  readonly values: Float64Array;
}

/**
 * A likelihood that reaches its parameters only through linear predictors eta_j = design_j · theta_j.
 * theta holds the coefficients of the first predictor, then those of the second, and so on: q in all.
 */
export interface PredictorModel {
  readonly kernel: CellKernel;
  readonly designs: readonly Design[];
  readonly cells: Cells;
}

export interface Evaluation {
  readonly value: number;
  /** q first derivatives. */
  readonly gradient: Float64Array;
  /** Minus the q × q second derivatives, row-major. */
  readonly information: Float64Array;
}

function parameterCount(model: PredictorModel): number {
  return model.designs.reduce((sum, design) => sum + design.columns, 0);
}

/** Log-likelihood of all rows with first and second derivatives at theta (q values). */
export function evaluate(model: PredictorModel, theta: Float64Array): Evaluation {
  const { kernel, designs, cells } = model;
  const m = kernel.predictors;
  const q = parameterCount(model);
  const gradient = new Float64Array(q);
  const information = new Float64Array(q * q);
  const eta = new Float64Array(m);
  const out = new Float64Array(1 + m + (m * (m + 1)) / 2);
  const starts = startsOf(designs);
  const curves = new Float64Array(m * m);
  const filled = new Filled(designs);
  let value = 0;
  for (let cell = 0; cell < cells.nCells; cell += 1) {
    predictors(designs, starts, theta, cell, eta);
    kernel.at(cell, eta, out);
    const count = cells.count[cell]!;
    value += count * out[0]!;
    for (let a = 0, packed = 1 + m; a < m; a += 1) {
      for (let b = a; b < m; b += 1, packed += 1) curves[a * m + b] = -count * out[packed]!;
    }
    filled.read(cell);
    const { place, owner, values } = filled;
    for (let i = 0; i < filled.size; i += 1) {
      const row = place[i]! * q;
      gradient[place[i]!]! += count * out[1 + owner[i]!]! * values[i]!;
      for (let j = i; j < filled.size; j += 1) {
        information[row + place[j]!]! += curves[owner[i]! * m + owner[j]!]! * values[i]! * values[j]!;
      }
    }
  }
  for (let i = 0; i < q; i += 1)
    for (let j = 0; j < i; j += 1) information[i * q + j] = information[j * q + i]!;
  return { value, gradient, information };
}

/** Gradients of the log-likelihood summed over each cluster: row-major nClusters × q. */
export function scoresByCluster(model: PredictorModel, theta: Float64Array): Float64Array {
  const { kernel, designs, cells } = model;
  const m = kernel.predictors;
  const q = parameterCount(model);
  const starts = startsOf(designs);
  const eta = new Float64Array(m);
  const out = new Float64Array(1 + m + (m * (m + 1)) / 2);
  const scores = new Float64Array(cells.nCells * q);
  for (let cell = 0; cell < cells.nCells; cell += 1) {
    predictors(designs, starts, theta, cell, eta);
    kernel.at(cell, eta, out);
    for (let a = 0; a < m; a += 1) {
      const { columns, values } = designs[a]!;
      for (let i = 0; i < columns; i += 1) {
        scores[cell * q + starts[a]! + i] = out[1 + a]! * values[cell * columns + i]!;
      }
    }
  }
  return clusterScores(cells, scores, q);
}

/**
 * Minus the second derivatives of the log-likelihood summed over each cluster: row-major nClusters × q(q + 1)/2, the
 * upper triangle by rows.
 */
export function informationByCluster(model: PredictorModel, theta: Float64Array): Float64Array {
  const { kernel, designs, cells } = model;
  const m = kernel.predictors;
  const q = parameterCount(model);
  const starts = startsOf(designs);
  const eta = new Float64Array(m);
  const curves = (m * (m + 1)) / 2;
  const out = new Float64Array(1 + m + curves);
  const second = new Float64Array(cells.nCells * curves);
  for (let cell = 0; cell < cells.nCells; cell += 1) {
    predictors(designs, starts, theta, cell, eta);
    kernel.at(cell, eta, out);
    second.set(out.subarray(1 + m), cell * curves);
  }
  const width = (q * (q + 1)) / 2;
  const sums = new Float64Array(cells.nClusters * width);
  const filled = new Filled(designs);
  for (let pair = 0; pair < cells.pairCell.length; pair += 1) {
    const cell = cells.pairCell[pair]!;
    filled.read(cell);
    const { place, owner, values } = filled;
    for (let i = 0; i < filled.size; i += 1) {
      const left = cells.pairCount[pair]! * values[i]!;
      const row = cells.pairCluster[pair]! * width + packedPlace(place[i]!, 0, q) - place[i]!;
      for (let j = i; j < filled.size; j += 1) {
        const curve = second[cell * curves + packedPlace(owner[i]!, owner[j]! - owner[i]!, m)]!;
        sums[row + place[j]!]! -= left * values[j]! * curve;
      }
    }
  }
  return sums;
}

/** The largest change of any predictor of any cell when theta moves by `step`: free of the columns' units. */
export function predictorChange(model: PredictorModel, step: Float64Array): number {
  const starts = startsOf(model.designs);
  const eta = new Float64Array(model.kernel.predictors);
  let largest = 0;
  for (let cell = 0; cell < model.cells.nCells; cell += 1) {
    predictors(model.designs, starts, step, cell, eta);
    for (const change of eta) largest = Math.max(largest, Math.abs(change));
  }
  return largest;
}

/** Where the upper triangle by rows of an n × n matrix holds row i, `beyond` places past the diagonal. */
function packedPlace(i: number, beyond: number, n: number): number {
  return i * n - (i * (i - 1)) / 2 + beyond;
}

/** The covariates of one cell that are not 0, in the order of the parameters: most are marks, of which few are set. */
class Filled {
  size = 0;
  readonly place: Int32Array;
  /** The predictor to which each belongs. */
  readonly owner: Int32Array;
  readonly values: Float64Array;
  constructor(private readonly designs: readonly Design[]) {
    const q = designs.reduce((sum, design) => sum + design.columns, 0);
    this.place = new Int32Array(q);
    this.owner = new Int32Array(q);
    this.values = new Float64Array(q);
  }
  read(cell: number): void {
    this.size = 0;
    let at = 0;
    for (let a = 0; a < this.designs.length; a += 1) {
      const { columns, values } = this.designs[a]!;
      for (let i = cell * columns; i < (cell + 1) * columns; i += 1, at += 1) {
        if (values[i] === 0) continue;
        this.place[this.size] = at;
        this.owner[this.size] = a;
        this.values[this.size] = values[i]!;
        this.size += 1;
      }
    }
  }
}

function startsOf(designs: readonly Design[]): number[] {
  let next = 0;
  return designs.map((design) => {
    const start = next;
    next += design.columns;
    return start;
  });
}

function predictors(
  designs: readonly Design[],
  starts: readonly number[],
  theta: Float64Array,
  cell: number,
  eta: Float64Array,
): void {
  for (let a = 0; a < designs.length; a += 1) {
    const { columns, values } = designs[a]!;
    const start = starts[a]!;
    let sum = 0;
    for (let i = 0; i < columns; i += 1) sum += values[cell * columns + i]! * theta[start + i]!;
    eta[a] = sum;
  }
}
