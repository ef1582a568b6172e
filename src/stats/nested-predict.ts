import type { Estimate } from '../core/outcome.ts';
import { studentMultiplier } from './distributions.ts';
import { dot, quadraticForm } from './linear-algebra.ts';
import type { NestedSlopesFit } from './nested-slopes.ts';

/** Mean rate x'β over all clusters at covariates x (p values), with its confidence interval. */
export function meanRate(fit: NestedSlopesFit, x: Float64Array): Estimate {
  checkColumns(fit, x);
  return predicted(fit, dot(x, fit.beta), quadraticForm(fit.covariance, x), x);
}

/** û of one cluster (place in `clusterIds`): how far its rate lies from the mean at its covariates, with a prediction interval. */
export function clusterEffect(fit: NestedSlopesFit, cluster: number): Estimate {
  const w = clusterWeight(fit, cluster);
  const variance = fit.clusterVariances[cluster]! + quadraticForm(fit.covariance, w);
  return predicted(fit, fit.clusterEffects[cluster]!, variance);
}

/** v̂ of one unit (place in `unitIds`): how far its rate lies from its cluster's, with a prediction interval. */
export function unitEffect(fit: NestedSlopesFit, unit: number): Estimate {
  const given = fit.clusterVariances[fit.unitCluster[unit]!]!;
  const k = fit.unitShrinkage[unit]!;
  const variance =
    (1 - k) ** 2 * given + fit.variances.unit * k + quadraticForm(fit.covariance, unitWeight(fit, unit));
  return predicted(fit, fit.unitEffects[unit]!, variance);
}

/** x'β + û: one cluster's own rate at covariates x, with a prediction interval (β's uncertainty included). */
export function clusterRate(fit: NestedSlopesFit, cluster: number, x: Float64Array): Estimate {
  checkColumns(fit, x);
  const w = clusterWeight(fit, cluster);
  const lever = x.map((value, j) => value - w[j]!);
  const variance = fit.clusterVariances[cluster]! + quadraticForm(fit.covariance, lever);
  return predicted(fit, dot(x, fit.beta) + fit.clusterEffects[cluster]!, variance);
}

/** x'β + û + v̂: one unit's own rate at covariates x, with a prediction interval. */
export function unitRate(fit: NestedSlopesFit, unit: number, x: Float64Array): Estimate {
  checkColumns(fit, x);
  const cluster = fit.unitCluster[unit]!;
  const wc = clusterWeight(fit, cluster);
  const wu = unitWeight(fit, unit);
  const lever = x.map((value, j) => value - wc[j]! - wu[j]!);
  const k = fit.unitShrinkage[unit]!;
  // u + v given the data: the part of v that answers to u cancels all but k of u's own uncertainty.
  const variance =
    k * k * fit.clusterVariances[cluster]! + fit.variances.unit * k + quadraticForm(fit.covariance, lever);
  return predicted(fit, dot(x, fit.beta) + fit.clusterEffects[cluster]! + fit.unitEffects[unit]!, variance);
}

/** Rate of unit a less rate of unit b of one cluster; `xDifference` where their covariates differ (default: none). */
export function unitDifference(
  fit: NestedSlopesFit,
  a: number,
  b: number,
  xDifference: Float64Array = new Float64Array(fit.beta.length),
): Estimate {
  checkColumns(fit, xDifference);
  const cluster = fit.unitCluster[a]!;
  if (cluster !== fit.unitCluster[b])
    throw new Error(`units must lie in one cluster: ${fit.unitIds[a]}, ${fit.unitIds[b]}`);
  const [ka, kb] = [fit.unitShrinkage[a]!, fit.unitShrinkage[b]!];
  const [wa, wb] = [unitWeight(fit, a), unitWeight(fit, b)];
  const lever = xDifference.map((value, j) => value - wa[j]! + wb[j]!);
  const variance =
    (ka - kb) ** 2 * fit.clusterVariances[cluster]! +
    fit.variances.unit * (ka + kb) +
    quadraticForm(fit.covariance, lever);
  return predicted(fit, dot(xDifference, fit.beta) + fit.unitEffects[a]! - fit.unitEffects[b]!, variance);
}

function clusterWeight(fit: NestedSlopesFit, cluster: number): Float64Array {
  if (!(cluster >= 0 && cluster < fit.nClusters))
    throw new Error(`cluster must be a place below ${fit.nClusters}: ${cluster}`);
  const p = fit.beta.length;
  return fit.clusterWeights.subarray(cluster * p, cluster * p + p);
}

function unitWeight(fit: NestedSlopesFit, unit: number): Float64Array {
  if (!(unit >= 0 && unit < fit.nUnits)) throw new Error(`unit must be a place below ${fit.nUnits}: ${unit}`);
  const p = fit.beta.length;
  return fit.unitWeights.subarray(unit * p, unit * p + p);
}

/** By the least degrees of freedom among the columns that take part; among all of them for an effect. */
function predicted(fit: NestedSlopesFit, estimate: number, variance: number, x?: Float64Array): Estimate {
  const taking = x ? fit.degreesOfFreedom.filter((_, j) => x[j] !== 0) : fit.degreesOfFreedom;
  const degrees = Math.min(...(taking.length > 0 ? taking : fit.degreesOfFreedom));
  const stdError = Math.sqrt(variance);
  const reach = stdError * studentMultiplier(degrees, fit.confidence);
  return { estimate, stdError, low: estimate - reach, high: estimate + reach };
}

function checkColumns(fit: NestedSlopesFit, x: Float64Array): void {
  if (x.length !== fit.beta.length) throw new Error(`x must hold ${fit.beta.length} values: ${x.length}`);
}
