import type { Cells } from './cells.ts';
import { copyUpper, type FilledCells, predictorsOf } from './filled-cells.ts';

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

export interface Evaluation {
  readonly value: number;
  /** q first derivatives. */
  readonly gradient: Float64Array;
  /** Minus the q × q second derivatives, row-major. */
  readonly information: Float64Array;
}

/** Values and derivatives that a kernel writes for one cell. */
const outputs = (m: number): Float64Array => new Float64Array(1 + derivatives(m));

/**
 * Cells are summed so many at a time, each time by a call of its own: a loop over all of them is over, the first few times,
 * before the browser has made it quick.
 */
const STRETCH_CELLS = 512;

/** Log-likelihood of all rows with first and second derivatives at theta (q values). */
export function evaluate(model: PredictorModel, theta: Float64Array): Evaluation {
  const { kernel, cells, filled } = model;
  const n = cells.nCells;
  const etas = predictorsOf(filled, theta, kernel.predictors);
  const sums = new Float64Array((filled.start.length - 1) * derivatives(kernel.predictors));
  let value = 0;
  for (let from = 0; from < n; from += STRETCH_CELLS) {
    value += addCells(sums, model, etas, from, Math.min(n, from + STRETCH_CELLS));
  }
  return { value, ...inParameters(filled, sums, kernel.predictors) };
}

/** How many first and second derivatives m predictors have. */
const derivatives = (m: number): number => m + (m * (m + 1)) / 2;

/** Adds the derivatives in the predictors of some cells to those of their covariates; gives their log-likelihood. */
function addCells(
  sums: Float64Array,
  { kernel, cells, filled }: PredictorModel,
  etas: Float64Array,
  from: number,
  to: number,
): number {
  const m = kernel.predictors;
  const width = derivatives(m);
  const { numberOf } = filled;
  const eta = new Float64Array(m);
  const out = outputs(m);
  let value = 0;
  for (let cell = from; cell < to; cell += 1) {
    const number = numberOf[cell]!;
    for (let a = 0; a < m; a += 1) eta[a] = etas[number * m + a]!;
    kernel.at(cell, eta, out);
    const count = cells.count[cell]!;
    value += count * out[0]!;
    for (let j = 0, at = number * width; j < width; j += 1, at += 1) sums[at]! += count * out[1 + j]!;
  }
  return value;
}

/** Derivatives in the parameters, by those in the predictors summed over each number of covariates. */
function inParameters(
  { q, start, place, owner, value }: FilledCells,
  sums: Float64Array,
  m: number,
): Omit<Evaluation, 'value'> {
  const gradient = new Float64Array(q);
  const information = new Float64Array(q * q);
  const width = derivatives(m);
  const curves = new Float64Array(m * m);
  for (let k = 0; k < start.length - 1; k += 1) {
    const at = k * width;
    for (let a = 0, packed = at + m; a < m; a += 1) {
      for (let b = a; b < m; b += 1, packed += 1) curves[a * m + b] = -sums[packed]!;
    }
    const end = start[k + 1]!;
    for (let i = start[k]!; i < end; i += 1) {
      const left = value[i]!;
      const curve = owner[i]! * m;
      const row = place[i]! * q;
      gradient[place[i]!]! += sums[at + owner[i]!]! * left;
      for (let j = i; j < end; j += 1) {
        information[row + place[j]!]! += curves[curve + owner[j]!]! * left * value[j]!;
      }
    }
  }
  copyUpper(information, q);
  return { gradient, information };
}

/** Gradients of the log-likelihood summed over each cluster: row-major nClusters × q. */
export function scoresByCluster(
  { kernel, cells, filled }: PredictorModel,
  theta: Float64Array,
): Float64Array {
  const m = kernel.predictors;
  const { q, numberOf, start, place, owner, value } = filled;
  const etas = predictorsOf(filled, theta, m);
  const eta = new Float64Array(m);
  const out = outputs(m);
  const slopes = new Float64Array(cells.nCells * m);
  for (let cell = 0; cell < cells.nCells; cell += 1) {
    for (let a = 0; a < m; a += 1) eta[a] = etas[numberOf[cell]! * m + a]!;
    kernel.at(cell, eta, out);
    for (let a = 0; a < m; a += 1) slopes[cell * m + a] = out[1 + a]!;
  }
  const { pairCluster, pairCell, pairCount } = cells;
  const sums = new Float64Array(cells.nClusters * q);
  for (let pair = 0; pair < pairCell.length; pair += 1) {
    const row = pairCluster[pair]! * q;
    const times = pairCount[pair]!;
    const cell = pairCell[pair]!;
    const end = start[numberOf[cell]! + 1]!;
    for (let i = start[numberOf[cell]!]!; i < end; i += 1) {
      sums[row + place[i]!]! += times * (slopes[cell * m + owner[i]!]! * value[i]!);
    }
  }
  return sums;
}

/**
 * Each cluster's own information: of its rows with the same covariates, minus the second derivatives in the m predictors,
 * summed. Entries come cluster after cluster.
 */
export interface ClusterInformation {
  readonly filled: FilledCells;
  /** Predictors, m. */
  readonly predictors: number;
  readonly cluster: Int32Array;
  /** The number of the covariates. */
  readonly number: Int32Array;
  /** Upper triangle by rows: m(m + 1)/2 for each entry. */
  readonly curves: Float64Array;
}

export function clusterInformation(
  { kernel, cells, filled }: PredictorModel,
  theta: Float64Array,
): ClusterInformation {
  const m = kernel.predictors;
  const size = (m * (m + 1)) / 2;
  const ofCell = cellCurves({ kernel, cells, filled }, theta, size);
  const { pairCluster, pairCell, pairCount } = cells;
  const cluster = new Int32Array(pairCell.length);
  const number = new Int32Array(pairCell.length);
  const curves = new Float64Array(pairCell.length * size);
  // Of each number of covariates its latest entry, which may be of a cluster before.
  const latest = new Int32Array(filled.start.length - 1).fill(-1);
  let n = 0;
  for (let pair = 0; pair < pairCell.length; pair += 1) {
    const cell = pairCell[pair]!;
    const covariates = filled.numberOf[cell]!;
    let entry = latest[covariates]!;
    if (entry < 0 || cluster[entry] !== pairCluster[pair]) {
      entry = n++;
      latest[covariates] = entry;
      cluster[entry] = pairCluster[pair]!;
      number[entry] = covariates;
    }
    const times = pairCount[pair]!;
    for (let k = 0; k < size; k += 1) curves[entry * size + k]! += times * ofCell[cell * size + k]!;
  }
  return {
    filled,
    predictors: m,
    cluster: cluster.slice(0, n),
    number: number.slice(0, n),
    curves: curves.slice(0, n * size),
  };
}

/** Minus the second derivatives of one row of each cell. */
function cellCurves(
  { kernel, cells, filled }: PredictorModel,
  theta: Float64Array,
  size: number,
): Float64Array {
  const m = kernel.predictors;
  const etas = predictorsOf(filled, theta, m);
  const eta = new Float64Array(m);
  const out = outputs(m);
  const curves = new Float64Array(cells.nCells * size);
  for (let cell = 0; cell < cells.nCells; cell += 1) {
    for (let a = 0; a < m; a += 1) eta[a] = etas[filled.numberOf[cell]! * m + a]!;
    kernel.at(cell, eta, out);
    for (let k = 0; k < size; k += 1) curves[cell * size + k] = -out[1 + m + k]!;
  }
  return curves;
}

/** Σ|γ_g| and Σγ_g² over the clusters, γ_g = b'I_g b: what cluster g knows along b. */
export function informationAlong(
  { filled, predictors: m, cluster, number, curves }: ClusterInformation,
  b: Float64Array,
): { readonly total: number; readonly squares: number } {
  const size = (m * (m + 1)) / 2;
  const products = productsAlong(filled, b, m, size);
  const ownSum = size === 6 ? ownOfThree : ownOfAny;
  let total = 0;
  let squares = 0;
  for (let entry = 0; entry < cluster.length; ) {
    const from = entry;
    const of = cluster[entry];
    while (entry < cluster.length && cluster[entry] === of) entry += 1;
    const own = ownSum(curves, products, number, from, entry, size);
    // Observed information of one cluster may be negative; shares of both signs must not cancel into few clusters.
    total += Math.abs(own);
    squares += own * own;
  }
  return { total, squares };
}

/** Σ curve·product over the entries from `from` up to `to`. */
function ownOfAny(
  curves: Float64Array,
  products: Float64Array,
  number: Int32Array,
  from: number,
  to: number,
  size: number,
): number {
  let own = 0;
  for (let entry = from; entry < to; entry += 1) {
    const at = number[entry]! * size;
    for (let k = 0; k < size; k += 1) own += curves[entry * size + k]! * products[at + k]!;
  }
  return own;
}

/** The same of three predictors, written out: this is asked along hundreds of directions. */
function ownOfThree(
  curves: Float64Array,
  products: Float64Array,
  number: Int32Array,
  from: number,
  to: number,
): number {
  let own = 0;
  for (let entry = from, c = 6 * from; entry < to; entry += 1, c += 6) {
    const at = 6 * number[entry]!;
    own += curves[c]! * products[at]!;
    own += curves[c + 1]! * products[at + 1]!;
    own += curves[c + 2]! * products[at + 2]!;
    own += curves[c + 3]! * products[at + 3]!;
    own += curves[c + 4]! * products[at + 4]!;
    own += curves[c + 5]! * products[at + 5]!;
  }
  return own;
}

/** What each second derivative counts for along b, by the number of the covariates. */
function productsAlong(filled: FilledCells, b: Float64Array, m: number, size: number): Float64Array {
  const etas = predictorsOf(filled, b, m);
  const products = new Float64Array((etas.length / m) * size);
  for (let from = 0, at = 0; from < etas.length; from += m) {
    for (let i = 0; i < m; i += 1) {
      for (let j = i; j < m; j += 1, at += 1)
        products[at] = (i === j ? 1 : 2) * etas[from + i]! * etas[from + j]!;
    }
  }
  return products;
}

/** The largest change of any predictor of any cell when theta moves by `step`: free of the columns' units. */
export function predictorChange({ kernel, filled }: PredictorModel, step: Float64Array): number {
  let largest = 0;
  for (const change of predictorsOf(filled, step, kernel.predictors)) {
    largest = Math.max(largest, Math.abs(change));
  }
  return largest;
}
