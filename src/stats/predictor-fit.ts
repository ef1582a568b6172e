import {
  type Estimate,
  isUnavailable,
  type Outcome,
  type Unavailable,
  unavailable,
} from '../core/outcome.ts';
import { sandwichOfSums } from './cluster-covariance.ts';
import { normalMultiplier, studentMultiplier } from './distributions.ts';
import { crossProduct, type FilledCells } from './filled-cells.ts';
import {
  checkIndependent,
  inverseSpd,
  multiply,
  quadraticForm,
  type SquareMatrix,
  solveSpd,
} from './linear-algebra.ts';
import { ascendWithLimits, type Limit, profileLimit } from './predictor-limits.ts';
import {
  type ClusterInformation,
  clusterInformation,
  informationAlong,
  type PredictorModel,
  scoresByCluster,
} from './predictor-model.ts';

export interface FitOptions {
  /**
   * `cluster` (default): sandwich from scores summed by cluster, times G/(G − 1) (Cameron & Miller 2015, J Hum Resour
   * 50:317–372), with Student's t on one degree of freedom less than the clusters that a figure effectively rests on.
   * `model`: inverse information, normal multiplier; rows must then be independent.
   */
  readonly covariance?: 'cluster' | 'model';
  /** Default 0.95. */
  readonly confidence?: number;
}

/** Maximum likelihood of a predictor model; parameters in the order of the designs. */
export interface PredictorFit {
  readonly terms: readonly string[];
  readonly theta: Float64Array;
  /** False for parameters held at a value and for those at a limit. */
  readonly free: readonly boolean[];
  /** q × q row-major; 0 where a parameter is not free. */
  readonly covariance: SquareMatrix;
  readonly covarianceKind: 'cluster' | 'model';
  /** Inverse information, whichever covariance was asked for; q × q, 0 where a parameter is not free. */
  readonly modelCovariance: SquareMatrix;
  /** Each cluster's own information; null where rows count as independent. */
  readonly clusterInformation: ClusterInformation | null;
  readonly confidence: number;
  readonly limits: readonly Limit[];
  readonly logLikelihood: number;
  readonly iterations: number;
  readonly nRows: number;
  readonly nClusters: number;
  readonly nCells: number;
}

export type Coefficient =
  | ({ readonly kind: 'estimated'; readonly term: string } & Estimate)
  | { readonly kind: 'limit'; readonly term: string; readonly side: Limit['side']; readonly limit: number }
  | { readonly kind: 'fixed'; readonly term: string; readonly value: number }
  | { readonly kind: 'unavailable'; readonly term: string; readonly why: Unavailable };

interface FitRequest extends FitOptions {
  readonly terms: readonly string[];
  readonly start: Float64Array;
  /** Parameters held at their start. */
  readonly held?: readonly boolean[];
  /** The bread of the sandwich and the `model` covariance, where it is not the observed information. */
  readonly information?: (theta: Float64Array) => SquareMatrix;
}

/**
 * Fits by Newton's method. A coefficient that runs to infinity by itself (a group without events) is reported as a
 * limit while the rest is estimated; typed `no-overlap` where several run off together, `collinear`, `one-cluster`,
 * `not-converged`.
 */
export function fitPredictors(model: PredictorModel, request: FitRequest): Outcome<PredictorFit> {
  const { terms } = request;
  const confidence = request.confidence ?? 0.95;
  const kind = request.covariance ?? 'cluster';
  if (model.cells.nCells === 0) return unavailable('no-rows', 'there are no records to work from.');
  const free = terms.map((_, j) => !request.held?.[j]);
  const refused = kind === 'cluster' ? tooFewClusters(model.cells.nClusters, free) : null;
  if (refused) return refused;
  const found = ascendWithLimits(model, request.start, free, terms);
  if (isUnavailable(found)) return found;
  const { ascent, bounded } = found;
  const information = request.information?.(ascent.theta) ?? ascent.at.information;
  const covariances = covariancesOf(model, ascent.theta, information, free, kind);
  if (isUnavailable(covariances)) return covariances;
  const fall = -Math.log(1 - confidence) * inflation(covariances, free);
  const limits: Limit[] = [];
  for (const { parameter, side } of bounded) {
    const limit = profileLimit(model, ascent, free, parameter, side, fall);
    if (isUnavailable(limit)) return limit;
    limits.push({ parameter, side, limit });
  }
  return {
    terms,
    theta: ascent.theta,
    free,
    ...covariances,
    covarianceKind: kind,
    clusterInformation: kind === 'cluster' ? clusterInformation(model, ascent.theta) : null,
    confidence,
    limits,
    logLikelihood: ascent.at.value,
    iterations: ascent.iterations,
    nRows: model.cells.nRows,
    nClusters: model.cells.nClusters,
    nCells: model.cells.nCells,
  };
}

/** The sandwich is made of as many outer products as there are clusters: it cannot span more figures than that. */
function tooFewClusters(nClusters: number, free: readonly boolean[]): Unavailable | null {
  if (nClusters < 2) {
    return unavailable(
      'one-cluster',
      'all records belong to one group, so how far groups differ cannot be judged.',
    );
  }
  const figures = free.filter(Boolean).length;
  return nClusters > figures
    ? null
    : unavailable(
        'one-cluster',
        `there are ${nClusters} groups of records for ${figures} figures, too few to judge how far groups differ.`,
      );
}

/** Nothing where the columns of a design are independent; else a typed `collinear` that names them. */
export function checkDesign(
  design: FilledCells,
  count: Float64Array,
  terms: readonly string[],
): Unavailable | null {
  return checkIndependent(crossProduct(design, count), terms);
}

/** A start at which the predictor is as near to `target` in every cell as the columns allow (least squares). */
export function levelStart(filled: FilledCells, count: Float64Array, target: number): Float64Array {
  const p = filled.q;
  const counts = new Float64Array(filled.start.length - 1);
  for (let cell = 0; cell < count.length; cell += 1) counts[filled.numberOf[cell]!]! += count[cell]!;
  const toTarget = new Float64Array(p);
  for (let k = 0; k < counts.length; k += 1) {
    for (let i = filled.start[k]!; i < filled.start[k + 1]!; i += 1) {
      toTarget[filled.place[i]!]! += counts[k]! * target * filled.value[i]!;
    }
  }
  const start = solveSpd(crossProduct(filled, count), toTarget, p);
  return isUnavailable(start) ? new Float64Array(p) : start;
}

/** One parameter of a fit, as an estimate, a limit or a value that was held. */
export function coefficient(fit: PredictorFit, parameter: number): Coefficient {
  const term = fit.terms[parameter];
  if (term === undefined) throw new Error(`parameter must lie below ${fit.terms.length}: ${parameter}`);
  const limit = fit.limits.find((l) => l.parameter === parameter);
  if (limit) return { kind: 'limit', term, side: limit.side, limit: limit.limit };
  const value = fit.theta[parameter]!;
  if (!fit.free[parameter]) return { kind: 'fixed', term, value };
  const direction = new Float64Array(fit.terms.length);
  direction[parameter] = 1;
  const error = errorOf(fit, direction);
  if (isUnavailable(error)) return { kind: 'unavailable', term, why: error };
  const { stdError, multiplier } = error;
  const half = multiplier * stdError;
  return { kind: 'estimated', term, estimate: value, stdError, low: value - half, high: value + half };
}

export interface DirectionError {
  readonly stdError: number;
  /** Standard errors on either side of an interval. */
  readonly multiplier: number;
}

/** A clustered error below this share of the model's is not believed. */
const LEAST_SHARE_OF_MODEL = 0.5;

/**
 * Standard error of a function of the parameters with the given gradient (q values), by the delta method. Typed
 * `one-cluster` where it effectively rests on fewer than two clusters: the clustered error is then falsely small,
 * since a cluster that is alone in its group is fitted exactly. So it is where hardly an event was seen: one cluster's
 * score then nearly cancels those of all others (0.03 against the model's 2.1 for the rate of the one clearing seen).
 * A clustered error under half of the model's gives way to the model's.
 */
export function errorOf(fit: PredictorFit, gradient: Float64Array): Outcome<DirectionError> {
  const stdError = stdErrorOf(fit, gradient);
  if (!fit.clusterInformation) return { stdError, multiplier: normalMultiplier(fit.confidence) };
  const effective = effectiveClusters(fit, fit.clusterInformation, gradient);
  if (effective < 2) {
    return unavailable(
      'one-cluster',
      'nearly all that is known of this comes from one group of records, so how far groups differ cannot be judged.',
    );
  }
  return { stdError, multiplier: studentMultiplier(effective - 1, fit.confidence) };
}

/** The standard error alone of `errorOf`. */
export function stdErrorOf(
  { covariance, modelCovariance }: Pick<PredictorFit, 'covariance' | 'modelCovariance'>,
  gradient: Float64Array,
): number {
  const clustered = Math.sqrt(Math.max(0, quadraticForm(covariance, gradient)));
  const model = Math.sqrt(Math.max(0, quadraticForm(modelCovariance, gradient)));
  return clustered < LEAST_SHARE_OF_MODEL * model ? model : clustered;
}

/**
 * Number of clusters that a figure with this gradient rests on: (Σ|γ|)²/Σγ² with γ the share of each cluster in the
 * model variance of the figure, b'I_g b for b = B·gradient (after Carter, Schnepel & Steigerwald 2017, Rev Econ Stat
 * 99:698–709). At most the number of clusters; that number where nothing is known of the figure.
 */
function effectiveClusters(
  fit: PredictorFit,
  information: ClusterInformation,
  gradient: Float64Array,
): number {
  const q = gradient.length;
  const { total, squares } = informationAlong(information, multiply(fit.modelCovariance, gradient, q, q, 1));
  return squares > 0 ? Math.min(fit.nClusters, (total * total) / squares) : fit.nClusters;
}

/** How much larger the variances asked for are than the model's, on average over the free parameters; at least 1. */
function inflation(
  { covariance, modelCovariance }: Pick<PredictorFit, 'covariance' | 'modelCovariance'>,
  free: readonly boolean[],
): number {
  const q = free.length;
  const ratios = free.flatMap((isFree, j) =>
    isFree ? [covariance[j * q + j]! / modelCovariance[j * q + j]!] : [],
  );
  return Math.max(1, ratios.reduce((sum, ratio) => sum + ratio, 0) / ratios.length || 1);
}

function covariancesOf(
  model: PredictorModel,
  theta: Float64Array,
  information: SquareMatrix,
  free: readonly boolean[],
  kind: 'cluster' | 'model',
): Outcome<Pick<PredictorFit, 'covariance' | 'modelCovariance'>> {
  const q = free.length;
  const index = free.flatMap((isFree, j) => (isFree ? [j] : []));
  const p = index.length;
  const block = Float64Array.from({ length: p * p }, (_, at) => {
    return information[index[Math.floor(at / p)]! * q + index[at % p]!]!;
  });
  const bread = inverseSpd(block, p);
  if (isUnavailable(bread)) return bread;
  let small = bread;
  if (kind === 'cluster' && p > 0) {
    const scores = scoresByCluster(model, theta);
    const sandwich = sandwichOfSums(bread, p === q ? scores : chosenColumns(scores, q, index));
    if (isUnavailable(sandwich)) return sandwich;
    small = sandwich.covariance;
  }
  const covariance = new Float64Array(q * q);
  const modelCovariance = new Float64Array(q * q);
  index.forEach((i, a) => {
    index.forEach((j, b) => {
      covariance[i * q + j] = small[a * p + b]!;
      modelCovariance[i * q + j] = bread[a * p + b]!;
    });
  });
  return { covariance, modelCovariance };
}

/** Some columns of a row-major matrix of q columns. */
function chosenColumns(matrix: Float64Array, q: number, index: readonly number[]): Float64Array {
  const p = index.length;
  const chosen = new Float64Array((matrix.length / q) * p);
  for (let at = 0, row = 0; at < chosen.length; row += q) {
    for (let j = 0; j < p; j += 1, at += 1) chosen[at] = matrix[row + index[j]!]!;
  }
  return chosen;
}
