import type { Cells } from './cells.ts';
import { copyUpper, type Design, type FilledCells, filledCells, predictorsAt } from './filled-cells.ts';

/**
 * Log-likelihood of one row of a cell as a function of m linear predictors. `at` writes to `out`: the value,
 * its m first derivatives, and its m(m + 1)/2 second derivatives (upper triangle by rows).
 */
export interface CellKernel {
  readonly predictors: number;
  at(cell: number, eta: Float64Array, out: Float64Array): void;
}

/**
 * A likelihood that reaches its parameters only through linear predictors eta_j = design_j · theta_j.
 * theta holds the coefficients of the first predictor, then those of the second, and so on: q in all.
 */
export interface PredictorModel {
  readonly kernel: CellKernel;
  readonly cells: Cells;
  readonly filled: FilledCells;
}

export const predictorModel = (
  kernel: CellKernel,
  designs: readonly Design[],
  cells: Cells,
): PredictorModel => ({ kernel, cells, filled: filledCells(designs, cells.nCells) });

export interface Evaluation {
  readonly value: number;
  /** q first derivatives. */
  readonly gradient: Float64Array;
  /** Minus the q × q second derivatives, row-major. */
  readonly information: Float64Array;
}

/** Values and derivatives that a kernel writes for one cell. */
const outputs = (m: number): Float64Array => new Float64Array(1 + m + (m * (m + 1)) / 2);

/**
 * Cells are summed so many at a time, each time by a call of its own: a loop over all of them is over, the first few times,
 * before the browser has made it quick.
 */
const STRETCH_CELLS = 512;

/** Log-likelihood of all rows with first and second derivatives at theta (q values). */
export function evaluate(model: PredictorModel, theta: Float64Array): Evaluation {
  const { q } = model.filled;
  const n = model.cells.nCells;
  const gradient = new Float64Array(q);
  const information = new Float64Array(q * q);
  let value = 0;
  for (let from = 0; from < n; from += STRETCH_CELLS) {
    value += addCells(gradient, information, model, theta, from, Math.min(n, from + STRETCH_CELLS));
  }
  copyUpper(information, q);
  return { value, gradient, information };
}

/** Adds the derivatives of some cells, of the second the upper half alone; gives their log-likelihood. */
function addCells(
  gradient: Float64Array,
  information: Float64Array,
  { kernel, cells, filled }: PredictorModel,
  theta: Float64Array,
  from: number,
  to: number,
): number {
  const m = kernel.predictors;
  const { q, start, place, owner, value: values } = filled;
  const eta = new Float64Array(m);
  const out = outputs(m);
  const curves = new Float64Array(m * m);
  let value = 0;
  for (let cell = from; cell < to; cell += 1) {
    predictorsAt(filled, theta, cell, eta);
    kernel.at(cell, eta, out);
    const count = cells.count[cell]!;
    value += count * out[0]!;
    for (let a = 0, packed = 1 + m; a < m; a += 1) {
      for (let b = a; b < m; b += 1, packed += 1) curves[a * m + b] = -count * out[packed]!;
    }
    const end = start[cell + 1]!;
    for (let i = start[cell]!; i < end; i += 1) {
      const left = values[i]!;
      const curve = owner[i]! * m;
      const row = place[i]! * q;
      gradient[place[i]!]! += count * out[1 + owner[i]!]! * left;
      for (let j = i; j < end; j += 1) {
        information[row + place[j]!]! += curves[curve + owner[j]!]! * left * values[j]!;
      }
    }
  }
  return value;
}

/** Gradients of the log-likelihood summed over each cluster: row-major nClusters × q. */
export function scoresByCluster(
  { kernel, cells, filled }: PredictorModel,
  theta: Float64Array,
): Float64Array {
  const m = kernel.predictors;
  const { q, start, place, owner, value } = filled;
  const eta = new Float64Array(m);
  const out = outputs(m);
  const scores = new Float64Array(value.length);
  for (let cell = 0; cell < cells.nCells; cell += 1) {
    predictorsAt(filled, theta, cell, eta);
    kernel.at(cell, eta, out);
    for (let i = start[cell]!; i < start[cell + 1]!; i += 1) scores[i] = out[1 + owner[i]!]! * value[i]!;
  }
  const { pairCluster, pairCell, pairCount } = cells;
  const sums = new Float64Array(cells.nClusters * q);
  for (let pair = 0; pair < pairCell.length; pair += 1) {
    const row = pairCluster[pair]! * q;
    const times = pairCount[pair]!;
    const end = start[pairCell[pair]! + 1]!;
    for (let i = start[pairCell[pair]!]!; i < end; i += 1) sums[row + place[i]!]! += times * scores[i]!;
  }
  return sums;
}

/** What is known of each cluster's own information: that of a row of each cell, and how often each occurs in it. */
export interface ClusterInformation {
  readonly cells: Cells;
  readonly filled: FilledCells;
  /** Minus the second derivatives in the m predictors, upper triangle by rows: nCells × m(m + 1)/2. */
  readonly curves: Float64Array;
}

export function clusterInformation(
  { kernel, cells, filled }: PredictorModel,
  theta: Float64Array,
): ClusterInformation {
  const m = kernel.predictors;
  const size = (m * (m + 1)) / 2;
  const eta = new Float64Array(m);
  const out = outputs(m);
  const curves = new Float64Array(cells.nCells * size);
  for (let cell = 0; cell < cells.nCells; cell += 1) {
    predictorsAt(filled, theta, cell, eta);
    kernel.at(cell, eta, out);
    for (let k = 0; k < size; k += 1) curves[cell * size + k] = -out[1 + m + k]!;
  }
  return { cells, filled, curves };
}

/** Σ|γ_g| and Σγ_g² over the clusters, γ_g = b'I_g b: what cluster g knows along b. */
export function informationAlong(
  { cells, filled, curves }: ClusterInformation,
  b: Float64Array,
): { readonly total: number; readonly squares: number } {
  const ofCell = cellsAlong(filled, curves, b, cells.nCells);
  const { pairCluster, pairCell, pairCount } = cells;
  let total = 0;
  let squares = 0;
  // Pairs come cluster after cluster.
  for (let pair = 0; pair < pairCell.length; ) {
    const cluster = pairCluster[pair];
    let own = 0;
    for (; pair < pairCell.length && pairCluster[pair] === cluster; pair += 1) {
      own += pairCount[pair]! * ofCell[pairCell[pair]!]!;
    }
    // Observed information of one cluster may be negative; shares of both signs must not cancel into few clusters.
    total += Math.abs(own);
    squares += own * own;
  }
  return { total, squares };
}

/** b'I b of one row of each cell. */
function cellsAlong(
  filled: FilledCells,
  curves: Float64Array,
  b: Float64Array,
  nCells: number,
): Float64Array {
  const size = curves.length / nCells;
  const m = Math.round((Math.sqrt(8 * size + 1) - 1) / 2);
  const eta = new Float64Array(m);
  const ofCell = new Float64Array(nCells);
  for (let cell = 0; cell < nCells; cell += 1) {
    predictorsAt(filled, b, cell, eta);
    let sum = 0;
    for (let i = 0, at = cell * size; i < m; i += 1) {
      for (let j = i; j < m; j += 1, at += 1) sum += (i === j ? 1 : 2) * curves[at]! * eta[i]! * eta[j]!;
    }
    ofCell[cell] = sum;
  }
  return ofCell;
}

/** The largest change of any predictor of any cell when theta moves by `step`: free of the columns' units. */
export function predictorChange({ kernel, cells, filled }: PredictorModel, step: Float64Array): number {
  const eta = new Float64Array(kernel.predictors);
  let largest = 0;
  for (let cell = 0; cell < cells.nCells; cell += 1) {
    predictorsAt(filled, step, cell, eta);
    for (let a = 0; a < eta.length; a += 1) largest = Math.max(largest, Math.abs(eta[a]!));
  }
  return largest;
}
