import { type Outcome, unavailable } from '../core/outcome.ts';
import { studentMultiplier } from './distributions.ts';
import { checkIndependent, factorSpd, type SquareMatrix, standardErrors } from './linear-algebra.ts';
import { nestedDegreesOfFreedom } from './nested-covariance.ts';
import { type NestedEffects, nestedEffects } from './nested-effects.ts';
import { type NestedRatios, searchRatios } from './nested-search.ts';
import { evaluateSloped } from './nested-sloped.ts';
import { type NestedSlopesData, nestedSums, rateSums } from './nested-sums.ts';

interface NestedSlopesOptions {
  /** Names of the p columns, for sentences. */
  readonly names?: readonly string[];
  readonly confidence?: number;
}

/** Fitted rates per 30 days. Lengths: p = columns, G = clusters, U = units. */
export interface NestedSlopesFit extends NestedEffects {
  /** `least-squares` where there is one cluster, or nothing repeats within clusters: no pooling. */
  readonly method: 'reml' | 'least-squares';
  readonly beta: Float64Array;
  readonly stdErrors: Float64Array;
  readonly low: Float64Array;
  readonly high: Float64Array;
  /** p × p. */
  readonly covariance: SquareMatrix;
  /** Of each column: between clusters (G less such columns) or within (rows less G less such columns). */
  readonly degreesOfFreedom: Float64Array;
  /** τ² and φ² (rate²) and σ² (amount²). */
  readonly variances: { readonly cluster: number; readonly unit: number; readonly residual: number };
  /** Whether the layout of the rows can show a variance at all; where not it is left out (0). */
  readonly estimable: { readonly cluster: boolean; readonly unit: boolean };
  /** Whether an estimable variance came out as 0. */
  readonly boundary: { readonly cluster: boolean; readonly unit: boolean };
  /** −2 REML log-likelihood. */
  readonly criterion: number;
  readonly ratios: NestedRatios;
  readonly nRows: number;
  readonly nClusters: number;
  readonly nUnits: number;
  readonly confidence: number;
}

/**
 * REML fit of y = z·x'β + z·u(cluster) + z·v(unit) + ε, z = days/30, u ~ N(0, τ²), v ~ N(0, φ²), ε ~ N(0, σ²):
 * amounts through the origin with random rates. y and the rates share a unit (rates: per 30 days). Typed outcomes:
 * `no-rows` (fewer rows than columns + 1), `collinear`, `one-level` (an exact fit: no spread to judge by). Throws on
 * sizes that disagree and on values that are not finite. Patterson & Thompson 1971, Biometrika 58:545–554;
 * Bates et al. 2015, J Stat Softw 67(1).
 */
export function fitNestedSlopes(
  data: NestedSlopesData,
  options: NestedSlopesOptions = {},
): Outcome<NestedSlopesFit> {
  const p = checkData(data, options.names);
  const n = data.y.length;
  if (n <= p || n === 0) {
    return unavailable(
      'no-rows',
      `there ${n === 1 ? 'is 1 usable record' : `are ${n} usable records`} for ${p === 1 ? '1 quantity' : `${p} quantities`} to estimate: too few to also judge how sure the answer is.`,
    );
  }
  const names = options.names ?? Array.from({ length: p }, (_, j) => `column ${j + 1}`);
  const crude = rateSums(data, p);
  // Whatever is not finite in x shows in its squares; to look at every value takes as long as half the sums.
  if (!crude.xx.every(Number.isFinite)) checkFinite('x', data.x);
  const dependent = checkIndependent(crude.xx, names);
  if (dependent) return dependent;
  const sums = nestedSums(data, crude, factorSpd(crude.xx, p)!);
  let total = 0;
  for (let row = 0; row < n; row++) total += data.y[row]! * data.y[row]!;
  if (sums.yy <= 1e-20 * total || total === 0) {
    return unavailable(
      'one-level',
      'the records agree with each other exactly, so there is no spread to judge by.',
    );
  }
  const ratios = searchRatios(sums);
  const at = evaluateSloped(sums, ratios.cluster, ratios.unit);
  if (!at)
    return unavailable('not-converged', 'the calculation did not settle on an answer for these records.');

  const residual = at.quadratic / (n - p);
  const inverse = at.factor.inverse();
  const covariance = inverse.map((value) => value * residual);
  const beta = at.beta.map((value, j) => value + sums.base[j]!);
  const stdErrors = standardErrors(covariance, p);
  const nClusters = sums.clusterIds.length;
  const confidence = options.confidence ?? 0.95;
  const degreesOfFreedom = nestedDegreesOfFreedom(data, sums);
  const reach = stdErrors.map((se, j) => se * studentMultiplier(degreesOfFreedom[j]!, confidence));
  return {
    method: ratios.estimable.cluster || ratios.estimable.unit ? 'reml' : 'least-squares',
    beta,
    stdErrors,
    low: beta.map((value, j) => value - reach[j]!),
    high: beta.map((value, j) => value + reach[j]!),
    covariance,
    degreesOfFreedom,
    variances: { cluster: residual * ratios.cluster, unit: residual * ratios.unit, residual },
    estimable: ratios.estimable,
    boundary: {
      cluster: ratios.estimable.cluster && ratios.cluster === 0,
      unit: ratios.estimable.unit && ratios.unit === 0,
    },
    criterion: at.criterion,
    ratios,
    ...nestedEffects(sums, ratios, at.beta, residual),
    nRows: n,
    nClusters,
    nUnits: sums.unitIds.length,
    confidence,
  };
}

/** Checks sizes and values (bad code throws); the number of columns. */
function checkData(data: NestedSlopesData, names: readonly string[] | undefined): number {
  const n = data.y.length;
  for (const name of ['days', 'cluster', 'unit'] as const) {
    if (data[name].length !== n) throw new Error(`${name} must hold ${n} values: ${data[name].length}`);
  }
  const p = n === 0 ? (names?.length ?? 0) : data.x.length / n;
  if (!Number.isInteger(p) || (n > 0 && p < 1))
    throw new Error(`x must hold a multiple of ${n} values: ${data.x.length}`);
  if (names && names.length !== p) throw new Error(`names must hold ${p} values: ${names.length}`);
  checkFinite('days', data.days);
  checkFinite('y', data.y);
  for (let row = 0; row < n; row++) {
    if (data.days[row]! < 0) throw new Error(`days must not be negative: ${data.days[row]} at ${row}`);
  }
  return p;
}

function checkFinite(name: string, values: Float64Array): void {
  for (let i = 0; i < values.length; i++) {
    if (!Number.isFinite(values[i])) throw new Error(`${name} must be finite: ${values[i]} at ${i}`);
  }
}
