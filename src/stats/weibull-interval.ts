import { type Estimate, isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import { clusterCovariance, denseCodes } from './cluster-covariance.ts';
import { normalMultiplier, studentMultiplier } from './distributions.ts';
import { countIntervals, type IntervalCounts } from './interval-data.ts';
import { quadraticForm, type SquareMatrix } from './linear-algebra.ts';
import { noEventsSentence } from './turnbull.ts';
import { limitOfSilent, maximise, type SilentLimit, type WeibullMaximum } from './weibull-fit.ts';
import { type WeibullRows, weibullScores } from './weibull-likelihood.ts';
import {
  checkRank,
  checkWeibullData,
  informativeRows,
  kernelRows,
  logTimeUnit,
  setApart,
  type WeibullData,
} from './weibull-rows.ts';

export type { SilentLimit, WeibullData };

interface WeibullOptions {
  readonly confidence?: number;
  /** Factor on the clustered covariance: G/(G − 1), or none. Default `clusters`. */
  readonly smallSample?: 'none' | 'clusters';
}

/** One column of x, in both readings of the same model. Exponentiate for ratios. */
interface WeibullTerm {
  readonly term: string;
  /** Accelerated failure time: log of the factor by which times stretch per unit of x. */
  readonly logTimeRatio: Estimate;
  /** Proportional hazards: log of the factor by which the rate rises per unit of x. */
  readonly logHazardRatio: Estimate;
}

export interface WeibullFit extends IntervalCounts {
  /** 1 where the rate stays level, above where it climbs with time; the interval is made on its logarithm. */
  readonly shape: Estimate;
  /** Mean of log T less the Gumbel part where every x is 0 (survreg's intercept). */
  readonly logTimeIntercept: Estimate;
  readonly terms: readonly WeibullTerm[];
  /** Columns with no event at all: no estimate and no standard error, a one-sided limit only. */
  readonly silent: readonly SilentLimit[];
  /** 0/1 columns left out, with the rows concerned, because one side of them is a single cluster. */
  readonly lone: readonly string[];
  readonly logLikelihood: number;
  /** Null where no cluster ids were given: standard errors then take rows as independent. */
  readonly nClusters: number | null;
  /** Two-sided multiplier of the intervals: Student's t on G − 1 with clusters, else normal. */
  readonly multiplier: number;
  /** ψ (intercept first, then `terms` in order) and the shape: log H(t) = shape·log t + ψ₀ + x′ψ. */
  readonly theta: Float64Array;
  readonly covariance: SquareMatrix;
}

/**
 * Weibull regression for times seen only to lie in (left, right], by maximum likelihood:
 * S(t | x) = exp(−t^shape · exp(ψ₀ + x′ψ)). Standard errors are clustered where `cluster` is given.
 * Shapes: n rows, x n × p row-major. Units: ψ₀ and the intercept depend on the unit of time, nothing else does.
 * Throws on bad shapes, missing values, a known time of 0. Unavailable: no rows, no events, all events before the
 * first look, no more clusters than parameters, collinear terms, all looks after the same time, or a fit that runs away.
 * A 0/1 column's reference side should be its most common level.
 * Source: Lindsey & Ryan 1998, Stat Med 17:219–238; Kalbfleisch & Prentice 2002, ch. 3; clusters: Lin & Wei 1989,
 * J Am Stat Assoc 84:1074–1078.
 */
export function weibullInterval(data: WeibullData, options: WeibullOptions = {}): Outcome<WeibullFit> {
  checkWeibullData(data);
  const counts = countIntervals(data);
  const informative = informativeRows(data);
  if (informative.length === 0) return unavailable('no-rows', 'There are no rows to estimate from.');
  if (counts.nEvents === 0) return unavailable('no-events', noEventsSentence(counts.n));
  if (informative.every((i) => data.left[i] === 0)) {
    return unavailable(
      'all-events',
      'Every event had come before the first look, so its time cannot be said.',
    );
  }
  const { cluster } = data;
  if (cluster && new Set(informative.map((i) => cluster[i])).size < 2) {
    return unavailable(
      'one-cluster',
      'All rows belong to one group, so how far groups differ cannot be said.',
    );
  }

  const logUnit = logTimeUnit(data, informative);
  const { rows: kept, columns, silent, lone } = setApart(data, informative);
  const rows = kernelRows(data, kept, columns, logUnit);
  const names = columns.map((j) => data.terms[j]!);
  const notApart = checkRank(rows, names);
  if (notApart) return notApart;
  if (cluster) {
    const nClusters = new Set(kept.map((i) => cluster[i])).size;
    const nFigures = columns.length + 2;
    if (nClusters <= nFigures) return unavailable('one-cluster', tooFewClusters(nClusters, nFigures));
  }
  const best = maximise(rows);
  if (isUnavailable(best)) return best;
  const spread = spreadOf(rows, best, cluster && Int32Array.from(kept, (i) => cluster[i]!), options);
  if (isUnavailable(spread)) return spread;

  const all = { data, informative, logUnit, silent, lone, columns };
  const limits = silent.map((column) =>
    limitOfSilent(all, column, best, spread.inflation, options.confidence),
  );
  const { theta, covariance } = inOwnUnit(best.theta, spread.covariance, logUnit);
  return {
    ...counts,
    ...readings(theta, covariance, names, spread.multiplier),
    silent: limits,
    lone: lone.map(({ column }) => data.terms[column]!),
    logLikelihood: best.value - logUnit * exactWeight(rows),
    nClusters: spread.nClusters,
    multiplier: spread.multiplier,
    theta,
    covariance,
  };
}

function tooFewClusters(nClusters: number, nFigures: number): string {
  return `There are ${nClusters} groups of rows for ${nFigures} figures, too few to say how far groups differ.`;
}

/** Covariance by model or by clusters, and how much wider the second is on average (never below 1). */
function spreadOf(
  rows: WeibullRows,
  best: WeibullMaximum,
  cluster: Int32Array | undefined,
  { confidence, smallSample = 'clusters' }: WeibullOptions,
) {
  const model = best.covariance;
  if (!cluster) {
    return { covariance: model, nClusters: null, multiplier: normalMultiplier(confidence), inflation: 1 };
  }
  const robust = clusterCovariance(model, weibullScores(rows, best.theta), cluster, { smallSample });
  if (isUnavailable(robust)) return robust;
  const p = rows.q + 1;
  let ratio = 0;
  for (let a = 0; a < p; a += 1) ratio += robust.covariance[a * p + a]! / model[a * p + a]! / p;
  return {
    covariance: robust.covariance,
    nClusters: denseCodes(cluster).count,
    multiplier: studentMultiplier(robust.nClusters - 1, confidence),
    inflation: Math.max(1, ratio),
  };
}

/** From the kernel's unit of time to the caller's: ψ₀ changes by −shape·log unit. */
function inOwnUnit(theta: Float64Array, covariance: SquareMatrix, logUnit: number) {
  const p = theta.length;
  const own = Float64Array.from(theta);
  own[0]! -= theta[p - 1]! * logUnit;
  const moved = Float64Array.from(covariance);
  for (let b = 0; b < p; b += 1) moved[b]! -= logUnit * covariance[(p - 1) * p + b]!;
  const result = Float64Array.from(moved);
  for (let a = 0; a < p; a += 1) result[a * p]! -= logUnit * moved[a * p + p - 1]!;
  return { theta: own, covariance: result };
}

/** Delta-method readings of ψ and the shape. */
function readings(
  theta: Float64Array,
  covariance: SquareMatrix,
  names: readonly string[],
  multiplier: number,
) {
  const p = theta.length;
  const shape = theta[p - 1]!;
  const se = (weights: Float64Array) => Math.sqrt(quadraticForm(covariance, weights));
  const timeReading = (a: number) => {
    const weights = new Float64Array(p);
    weights[a] = -1 / shape;
    weights[p - 1]! += theta[a]! / (shape * shape);
    return symmetric(-theta[a]! / shape, se(weights), multiplier);
  };
  const shapeError = Math.sqrt(covariance[p * p - 1]!);
  const factor = Math.exp((multiplier * shapeError) / shape);
  return {
    shape: { estimate: shape, stdError: shapeError, low: shape / factor, high: shape * factor },
    logTimeIntercept: timeReading(0),
    terms: names.map((term, j): WeibullTerm => {
      const a = j + 1;
      const hazardError = Math.sqrt(covariance[a * p + a]!);
      return {
        term,
        logTimeRatio: timeReading(a),
        logHazardRatio: symmetric(theta[a]!, hazardError, multiplier),
      };
    }),
  };
}

function symmetric(estimate: number, stdError: number, multiplier: number): Estimate {
  return {
    estimate,
    stdError,
    low: estimate - multiplier * stdError,
    high: estimate + multiplier * stdError,
  };
}

function exactWeight({ logLeft, logRight, weight }: WeibullRows): number {
  return weight.reduce((sum, w, i) => sum + (logLeft[i] === logRight[i] ? w : 0), 0);
}

/**
 * Share with the event by time t > 0 at covariates `x` (one per fitted term, in order): 1 − S(t | x), with an
 * interval made on the scale of log H and the standard error by the delta method.
 */
export function weibullShareBy(fit: WeibullFit, t: number, x: Float64Array): Estimate {
  const p = fit.theta.length;
  if (!(t > 0 && t < Number.POSITIVE_INFINITY)) throw new Error(`t must be above 0 and finite: ${t}`);
  if (x.length !== p - 2) throw new Error(`x must hold ${p - 2} values: ${x.length}`);
  const weights = Float64Array.from({ length: p }, (_, a) =>
    a === 0 ? 1 : a === p - 1 ? Math.log(t) : x[a - 1]!,
  );
  const logHazard = weights.reduce((sum, w, a) => sum + w * fit.theta[a]!, 0);
  const error = Math.sqrt(quadraticForm(fit.covariance, weights));
  const share = (z: number) => -Math.expm1(-Math.exp(z));
  const hazard = Math.exp(logHazard);
  return {
    estimate: share(logHazard),
    stdError: Math.exp(-hazard) * hazard * error,
    low: share(logHazard - fit.multiplier * error),
    high: share(logHazard + fit.multiplier * error),
  };
}
