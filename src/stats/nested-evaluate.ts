import { dot, factorSpd, type SpdFactor } from './linear-algebra.ts';
import { addOuter, scatter } from './nested-columns.ts';
import { mirror, type NestedSums } from './nested-sums.ts';

/** One evaluation of the profiled REML criterion at λ1 (cluster) and λ2 (unit), both relative to σ². */
export interface NestedEvaluation {
  /** Residual quadratic form: (n − p) s². */
  readonly quadratic: number;
  /** Σlog(1 + λ2S) + Σlog(1 + λ1T) + log|A|. */
  readonly logDeterminants: number;
  /** −2 REML log-likelihood, with its constants. */
  readonly criterion: number;
  /** β less `base`. */
  readonly beta: Float64Array;
  readonly factor: SpdFactor;
}

/**
 * Per unit k = 1/(1 + λ2S), c2 = λ2k; per cluster T = ΣkS, Uh = ΣkU, vh = Σkv, c1 = λ1/(1 + λ1T);
 * A = X'X − Σc2UU' − Σc1UhUh', b and q alike, β = A⁻¹b. The inverse of a covariance with nested random slopes by
 * the Sherman–Morrison identity, twice; Harville 1977, J Am Stat Assoc 72:320–338 for the criterion.
 */
export function evaluateNested(sums: NestedSums, l1: number, l2: number): NestedEvaluation | null {
  const { p, v, s, own, clusterStart } = sums;
  const a = Float64Array.from(sums.xx);
  const b = Float64Array.from(sums.xy);
  let q = sums.yy;
  const logs = new LogSum();
  const uh = new Float64Array(p);
  const outer = new Float64Array((p * (p + 1)) / 2);
  const linear = new Float64Array(p);
  const { columns, columnStart, values, valueStart } = own;
  for (let g = 0; g + 1 < clusterStart.length; g++) {
    let t = 0;
    let vh = 0;
    const from = columnStart[g]!;
    const m = columnStart[g + 1]! - from;
    let at = valueStart[g]!;
    for (let j = 0; j < m; j++) {
      uh[j] = 0;
      linear[j] = 0;
    }
    for (let place = 0, size = (m * (m + 1)) / 2; place < size; place++) outer[place] = 0;
    for (let unit = clusterStart[g]!; unit < clusterStart[g + 1]!; unit++, at += m) {
      const k = 1 / (1 + l2 * s[unit]!);
      t += k * s[unit]!;
      vh += k * v[unit]!;
      addScaled(uh, values, at, m, k);
      if (l2 > 0) {
        logs.add(1 + l2 * s[unit]!);
        q -= l2 * k * v[unit]! * v[unit]!;
        addScaled(linear, values, at, m, -l2 * k * v[unit]!);
        addOuter(outer, values, at, m, -l2 * k);
      }
    }
    if (l1 > 0) {
      const c1 = l1 / (1 + l1 * t);
      logs.add(1 + l1 * t);
      q -= c1 * vh * vh;
      addScaled(linear, uh, 0, m, -c1 * vh);
      addOuter(outer, uh, 0, m, -c1);
    }
    scatter(a, p, outer, own, g);
    for (let i = 0; i < m; i++) b[columns[from + i]!]! += linear[i]!;
  }
  return concluded(sums, a, b, q, logs.total());
}

/** Puts together what was summed over clusters; null where A is not positive definite. */
export function concluded(
  sums: NestedSums,
  a: Float64Array,
  b: Float64Array,
  q: number,
  logs: number,
): NestedEvaluation | null {
  const { p } = sums;
  mirror(a, p);
  const factor = factorSpd(a, p);
  if (!factor) return null;
  const beta = factor.solve(b);
  const quadratic = q - dot(b, beta);
  if (!(quadratic > 0)) return null;
  const freedom = sums.n - p;
  const logDeterminants = logs + factor.logDeterminant();
  return {
    quadratic,
    logDeterminants,
    criterion: freedom * (1 + Math.log((2 * Math.PI * quadratic) / freedom)) + logDeterminants,
    beta,
    factor,
  };
}

/** Σ log of values of 1 or more: of their product, as long as a number holds it well, since each logarithm takes far longer. */
class LogSum {
  private product = 1;
  private sum = 0;
  add(value: number): void {
    const next = this.product * value;
    if (next <= 1e150) {
      this.product = next;
      return;
    }
    this.sum += Math.log(this.product) + Math.log(value);
    this.product = 1;
  }
  total(): number {
    return this.sum + Math.log(this.product);
  }
}

/** to += factor · (row at offset of from). */
function addScaled(to: Float64Array, from: Float64Array, offset: number, p: number, factor: number): void {
  for (let j = 0; j < p; j++) to[j]! += factor * from[offset + j]!;
}
