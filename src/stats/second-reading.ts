/** Variances of the random-rate model: of clusters and units (rate²) and of one amount around its rate (amount²). */
export interface SlopeVariances {
  readonly cluster: number;
  readonly unit: number;
  readonly residual: number;
}

/**
 * Prediction variance of each cluster's rate around the mean, the mean taken as known: 1/(1/τ² + T) with
 * T = Σ_units 1/(φ² + σ²/S), S a unit's Σz². Robinson 1991, Stat Sci 6:15–32. `unitCluster` counts from 0.
 */
export function rateVariances(
  unitSquares: Float64Array,
  unitCluster: Int32Array,
  clusters: number,
  { cluster, unit, residual }: SlopeVariances,
): Float64Array {
  const known = new Float64Array(clusters);
  unitSquares.forEach((s, i) => {
    known[unitCluster[i]!]! += s > 0 ? 1 / (unit + residual / s) : 0;
  });
  return known.map((t) => (cluster > 0 ? 1 / (1 / cluster + t) : 0));
}

/**
 * The variances if every reading were the mean of two: an amount carries one reading at each end, so its variance falls
 * by one reading's error variance, 2(e − e/2); what else makes it stray stays.
 */
export function withSecondReading(variances: SlopeVariances, readingSd: number): SlopeVariances {
  return { ...variances, residual: Math.max(0, variances.residual - readingSd ** 2) };
}
