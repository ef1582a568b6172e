import type { Estimate } from '../core/outcome.ts';
import { studentMultiplier } from './distributions.ts';
import { dot, quadraticForm } from './linear-algebra.ts';
import type { NestedSlopesFit } from './nested-slopes.ts';

/** A predicted rate, and the degrees of freedom of Student's t that its interval takes. */
interface Prediction extends Estimate {
  readonly stdError: number;
  readonly degrees: number;
}

/** Mean rate x'β over all clusters at covariates x (p values), with its confidence interval. */
export function meanRate(fit: NestedSlopesFit, x: Float64Array): Estimate {
  checkColumns(fit, x);
  return predicted(fit, dot(x, fit.beta), [meanPart(fit, x)]);
}

/** û of one cluster (place in `clusterIds`): how far its rate lies from the mean at its covariates, with a prediction interval. */
export function clusterEffect(fit: NestedSlopesFit, cluster: number): Estimate {
  const parts = [clusterPart(fit, cluster), meanPart(fit, clusterWeight(fit, cluster))];
  return predicted(fit, fit.clusterEffects[cluster]!, parts);
}

/** v̂ of one unit (place in `unitIds`): how far its rate lies from its cluster's, with a prediction interval. */
export function unitEffect(fit: NestedSlopesFit, unit: number): Estimate {
  const answering = (1 - fit.unitShrinkage[unit]!) ** 2;
  return predicted(fit, fit.unitEffects[unit]!, [
    clusterPart(fit, fit.unitCluster[unit]!, answering),
    unitPart(fit, unit),
    meanPart(fit, unitWeight(fit, unit)),
  ]);
}

/** x'β + û: one cluster's own rate at covariates x, with a prediction interval (β's uncertainty included). */
export function clusterRate(fit: NestedSlopesFit, cluster: number, x: Float64Array): Estimate {
  checkColumns(fit, x);
  const w = clusterWeight(fit, cluster);
  const lever = x.map((value, j) => value - w[j]!);
  const parts = [clusterPart(fit, cluster), meanPart(fit, lever)];
  return predicted(fit, dot(x, fit.beta) + fit.clusterEffects[cluster]!, parts);
}

/** x'β + û + v̂: one unit's own rate at covariates x, with a prediction interval (β's uncertainty included). */
export function unitRate(fit: NestedSlopesFit, unit: number, x: Float64Array): Prediction {
  return withInterval(rateSpreads(fit).unit(unit)(x), fit.confidence);
}

/** x'β + û + v of a unit of a known cluster that has no rows of its own, with a prediction interval. */
export function newUnitRate(fit: NestedSlopesFit, cluster: number, x: Float64Array): Prediction {
  return withInterval(rateSpreads(fit).newUnit(cluster)(x), fit.confidence);
}

/** x'β + u + v of a unit of a cluster that has no rows at all, with a prediction interval: both spreads in full. */
export function newClusterRate(fit: NestedSlopesFit, x: Float64Array): Prediction {
  return withInterval(rateSpreads(fit).newCluster()(x), fit.confidence);
}

/** A predicted rate without its interval. */
export type RateSpread = Pick<Prediction, 'estimate' | 'stdError' | 'degrees'>;

/** Rates at covariates x of one unit, or of one that has no rows: what does not hang on x is worked out once. */
interface RateSpreads {
  unit(unit: number): (x: Float64Array) => RateSpread;
  newUnit(cluster: number): (x: Float64Array) => RateSpread;
  newCluster(): (x: Float64Array) => RateSpread;
}

/**
 * Of one fit, as `unitRate`, `newUnitRate` and `newClusterRate`: forecasts ask for them by the hundred thousand, and one is
 * kept for every foot, so that it holds numbers alone.
 */
export function rateSpreads(fit: NestedSlopesFit): RateSpreads {
  const { beta, clusterWeights, unitWeights } = fit;
  const p = beta.length;
  // Room for one lever at a time.
  const lever = new Float64Array(p);
  const rate = (estimate: number, variance: number, unsure: number): RateSpread => {
    const mean = meanPart(fit, lever);
    return spreadOf(fit, estimate, variance + mean.variance, unsure + mean.variance ** 2 / mean.degrees);
  };
  return {
    unit(unit) {
      const cluster = fit.unitCluster[unit]!;
      checkPlaces(fit, cluster, unit);
      const [ofCluster, ofUnit] = [cluster * p, unit * p];
      const [u, v] = [fit.clusterEffects[cluster]!, fit.unitEffects[unit]!];
      // u + v given the data: the part of v that answers to u cancels all but k of u's own uncertainty.
      const parts = [clusterPart(fit, cluster, fit.unitShrinkage[unit]! ** 2), unitPart(fit, unit)];
      const { variance, unsure } = sumOf(parts);
      return (x) => {
        checkColumns(fit, x);
        for (let j = 0; j < p; j++)
          lever[j] = x[j]! - clusterWeights[ofCluster + j]! - unitWeights[ofUnit + j]!;
        return rate(dot(x, beta) + u + v, variance, unsure);
      };
    },
    newUnit(cluster) {
      checkPlaces(fit, cluster, 0);
      const ofCluster = cluster * p;
      const u = fit.clusterEffects[cluster]!;
      const { variance, unsure } = sumOf([clusterPart(fit, cluster), unseenUnit(fit)]);
      return (x) => {
        checkColumns(fit, x);
        for (let j = 0; j < p; j++) lever[j] = x[j]! - clusterWeights[ofCluster + j]!;
        return rate(dot(x, beta) + u, variance, unsure);
      };
    },
    newCluster() {
      const unseen = { variance: fit.variances.cluster, degrees: Math.max(1, leastDegrees(fit)) };
      const { variance, unsure } = sumOf([unseen, unseenUnit(fit)]);
      return (x) => {
        checkColumns(fit, x);
        lever.set(x);
        return rate(dot(x, beta), variance, unsure);
      };
    },
  };
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
  return predicted(fit, dot(xDifference, fit.beta) + fit.unitEffects[a]! - fit.unitEffects[b]!, [
    clusterPart(fit, cluster, (ka - kb) ** 2),
    unitPart(fit, a),
    unitPart(fit, b),
    meanPart(fit, lever),
  ]);
}

function leastDegrees({ degreesOfFreedom }: NestedSlopesFit): number {
  let least = Number.POSITIVE_INFINITY;
  for (let j = 0; j < degreesOfFreedom.length; j++) least = Math.min(least, degreesOfFreedom[j]!);
  return least;
}

function clusterWeight(fit: NestedSlopesFit, cluster: number): Float64Array {
  checkPlaces(fit, cluster, 0);
  const p = fit.beta.length;
  return fit.clusterWeights.subarray(cluster * p, cluster * p + p);
}

function unitWeight(fit: NestedSlopesFit, unit: number): Float64Array {
  checkPlaces(fit, 0, unit);
  const p = fit.beta.length;
  return fit.unitWeights.subarray(unit * p, unit * p + p);
}

function checkPlaces({ nClusters, nUnits }: NestedSlopesFit, cluster: number, unit: number): void {
  if (!(cluster >= 0 && cluster < nClusters))
    throw new Error(`cluster must be a place below ${nClusters}: ${cluster}`);
  if (!(unit >= 0 && unit < nUnits)) throw new Error(`unit must be a place below ${nUnits}: ${unit}`);
}

/** A share of a prediction variance, and the degrees of freedom that it was estimated on. */
interface Part {
  readonly variance: number;
  readonly degrees: number;
}

/** What β's uncertainty adds, by the least degrees of freedom among the columns that take part. */
function meanPart(fit: NestedSlopesFit, lever: Float64Array): Part {
  let least = Number.POSITIVE_INFINITY;
  for (let j = 0; j < lever.length; j++) {
    if (lever[j] !== 0) least = Math.min(least, fit.degreesOfFreedom[j]!);
  }
  return {
    variance: quadraticForm(fit.covariance, lever),
    degrees: least < Number.POSITIVE_INFINITY ? least : leastDegrees(fit),
  };
}

/**
 * Var(u given the data) = τ²(1 − ρ): where a cluster is hardly seen (ρ near 0) it is as sure as τ² is, from so many
 * clusters; where it is seen often (ρ near 1) it is as sure as the spread below the clusters is.
 */
function clusterPart(fit: NestedSlopesFit, cluster: number, factor = 1): Part {
  const given = fit.clusterVariances[cluster]!;
  const unseen = fit.variances.cluster > 0 ? given / fit.variances.cluster : 1;
  const below = fit.variances.unit > 0 ? fit.nUnits - fit.nClusters : fit.nRows - fit.nUnits;
  return { variance: factor * given, degrees: mixed(unseen, leastDegrees(fit), below) };
}

/** Var(v given u and the data) = φ²k, as sure as φ² where k is near 1 and as σ² where it is near 0. */
function unitPart(fit: NestedSlopesFit, unit: number): Part {
  const k = fit.unitShrinkage[unit]!;
  return {
    variance: fit.variances.unit * k,
    degrees: mixed(k, fit.nUnits - fit.nClusters, fit.nRows - fit.nUnits),
  };
}

/** Var(v) of a unit never seen: φ² in full, as sure as so many units make it. */
function unseenUnit(fit: NestedSlopesFit): Part {
  return { variance: fit.variances.unit, degrees: Math.max(1, fit.nUnits - fit.nClusters) };
}

/** Degrees of freedom of a variance that moves with `above` to the power `share` and with `below` to 1 − `share`. */
function mixed(share: number, above: number, below: number): number {
  return 1 / (share ** 2 / Math.max(1, above) + (1 - share) ** 2 / Math.max(1, below));
}

/** Variances summed, and what their degrees of freedom follow from. */
function sumOf(parts: readonly Part[]): { readonly variance: number; readonly unsure: number } {
  let [variance, unsure] = [0, 0];
  for (const part of parts) {
    variance += part.variance;
    unsure += part.variance ** 2 / part.degrees;
  }
  return { variance, unsure };
}

/** With Satterthwaite's degrees of freedom for the sum of the parts (1946, Biometrics Bull 2:110–114). */
function spreadOf(fit: NestedSlopesFit, estimate: number, variance: number, unsure: number): RateSpread {
  const degrees = Math.max(1, variance > 0 ? variance ** 2 / unsure : leastDegrees(fit));
  return { estimate, stdError: Math.sqrt(variance), degrees };
}

/** Student's interval. */
export function withInterval({ estimate, stdError, degrees }: RateSpread, confidence: number): Prediction {
  const reach = stdError * studentMultiplier(degrees, confidence);
  return { estimate, stdError, low: estimate - reach, high: estimate + reach, degrees };
}

function predicted(fit: NestedSlopesFit, estimate: number, parts: readonly Part[]): Prediction {
  const { variance, unsure } = sumOf(parts);
  return withInterval(spreadOf(fit, estimate, variance, unsure), fit.confidence);
}

function checkColumns(fit: NestedSlopesFit, x: Float64Array): void {
  if (x.length !== fit.beta.length) throw new Error(`x must hold ${fit.beta.length} values: ${x.length}`);
}
