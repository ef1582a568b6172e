import { dot, factorSpd, type SpdFactor, type SquareMatrix } from './linear-algebra.ts';
import { addCross, addOuter, addTwoOuters, scatter } from './nested-columns.ts';
import { mirror, type NestedSums } from './nested-sums.ts';

/** One evaluation of the profiled REML criterion at λ1 (cluster) and λ2 (unit), both relative to σ². */
interface NestedEvaluation {
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

/** An evaluation from which the slopes by λ1 and λ2 follow. */
interface SlopedEvaluation extends NestedEvaluation {
  readonly fall1: Fall;
  readonly fall2: Fall;
}

/** What a sum of squares (v − U'β)² and the log-determinants lose as one λ rises: −dA/dλ, −db/dλ, −dq/dλ, and d logs. */
interface Fall {
  /** Lower half of p × p. */
  readonly a: SquareMatrix;
  readonly b: Float64Array;
  q: number;
  logs: number;
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

function concluded(
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

/**
 * The same with all that its slopes need, in one pass: the derivative of (v − U'β)² k by λ is −(v − U'β)² k², which is
 * summed without β as its three parts v², vU and UU' and put together when β is known.
 */
export function evaluateSloped(sums: NestedSums, l1: number, l2: number): SlopedEvaluation | null {
  const { p, v, s, own, clusterStart } = sums;
  const a = Float64Array.from(sums.xx);
  const b = Float64Array.from(sums.xy);
  let q = sums.yy;
  const fall1 = emptyFall(p);
  const fall2 = emptyFall(p);
  let logs = 0;
  let product = 1;
  let q1 = 0;
  let q2 = 0;
  let logs1 = 0;
  let logs2 = 0;
  const outer = new Float64Array((p * (p + 1)) / 2);
  const outer1 = new Float64Array(outer.length);
  const outer2 = new Float64Array(outer.length);
  const uh = new Float64Array(p);
  const duh = new Float64Array(p);
  const linear = new Float64Array(p);
  const linear2 = new Float64Array(p);
  const { columns, columnStart, values, valueStart } = own;
  for (let g = 0; g + 1 < clusterStart.length; g++) {
    let t = 0;
    let dt = 0;
    let vh = 0;
    let dvh = 0;
    const from = columnStart[g]!;
    const m = columnStart[g + 1]! - from;
    for (let j = 0; j < m; j++) {
      uh[j] = 0;
      duh[j] = 0;
      linear[j] = 0;
      linear2[j] = 0;
    }
    for (let place = 0, size = (m * (m + 1)) / 2; place < size; place++) {
      outer[place] = 0;
      outer1[place] = 0;
      outer2[place] = 0;
    }
    let at = valueStart[g]!;
    for (let unit = clusterStart[g]!; unit < clusterStart[g + 1]!; unit++, at += m) {
      const su = s[unit]!;
      const factor = 1 + l2 * su;
      const k = 1 / factor;
      const ks = k * su;
      const kv = k * v[unit]!;
      product *= factor;
      if (product > LARGE_PRODUCT) {
        logs += Math.log(product);
        product = 1;
      }
      t += ks;
      dt -= ks * ks;
      vh += kv;
      dvh -= ks * kv;
      q -= l2 * kv * v[unit]!;
      q2 += kv * kv;
      logs2 += ks;
      for (let j = 0; j < m; j++) {
        const value = k * values[at + j]!;
        uh[j]! += value;
        duh[j]! -= ks * value;
        linear[j]! -= l2 * v[unit]! * value;
        linear2[j]! += kv * value;
      }
      addTwoOuters(outer, outer2, values, at, m, -l2 * k, k * k);
    }
    const h = 1 / (1 + l1 * t);
    const c1 = l1 * h;
    product *= 1 + l1 * t;
    if (product > LARGE_PRODUCT) {
      logs += Math.log(product);
      product = 1;
    }
    q -= c1 * vh * vh;
    q1 += h * h * vh * vh;
    logs1 += h * t;
    q2 += 2 * c1 * vh * dvh - c1 * c1 * dt * vh * vh;
    logs2 += c1 * dt;
    addTwoOuters(outer, outer1, uh, 0, m, -c1, h * h);
    if (l1 > 0) {
      addOuter(outer2, uh, 0, m, -c1 * c1 * dt);
      addCross(outer2, uh, duh, m, c1);
    }
    for (let i = 0, place = 0; i < m; i++) {
      const column = columns[from + i]!;
      const row = column * p;
      b[column]! += linear[i]! - c1 * vh * uh[i]!;
      fall1.b[column]! += h * h * vh * uh[i]!;
      fall2.b[column]! += linear2[i]! + c1 * (vh * duh[i]! + dvh * uh[i]!) - c1 * c1 * dt * vh * uh[i]!;
      for (let j = 0; j <= i; j++, place++) {
        const to = row + columns[from + j]!;
        a[to]! += outer[place]!;
        fall1.a[to]! += outer1[place]!;
        fall2.a[to]! += outer2[place]!;
      }
    }
  }
  const found = concluded(sums, a, b, q, logs + Math.log(product));
  fall1.q = q1;
  fall2.q = q2;
  fall1.logs = logs1;
  fall2.logs = logs2;
  return found && { ...found, fall1, fall2 };
}

const emptyFall = (p: number): Fall => ({
  a: new Float64Array(p * p),
  b: new Float64Array(p),
  q: 0,
  logs: 0,
});

/** Derivatives by λ1 and λ2 of the quadratic form and of the log-determinants at an evaluation. */
interface NestedSlope {
  readonly quadratic: readonly [number, number];
  readonly logDeterminants: readonly [number, number];
}

export function slopeNested({ factor, beta, fall1, fall2 }: SlopedEvaluation): NestedSlope {
  const inverse = factor.inverse();
  const p = beta.length;
  const quadratic = ({ a, b, q }: Fall): number => -(q - 2 * dot(beta, b) + halfForm(a, beta, p));
  return {
    quadratic: [quadratic(fall1), quadratic(fall2)],
    logDeterminants: [
      fall1.logs - halfTrace(inverse, fall1.a, p),
      fall2.logs - halfTrace(inverse, fall2.a, p),
    ],
  };
}

/** Derivatives of the profiled criterion by λ1 and λ2. */
export function criterionSlope(sums: NestedSums, at: SlopedEvaluation): [number, number] {
  const slope = slopeNested(at);
  const factor = (sums.n - sums.p) / at.quadratic;
  return [
    factor * slope.quadratic[0] + slope.logDeterminants[0],
    factor * slope.quadratic[1] + slope.logDeterminants[1],
  ];
}

/** Logarithms are taken of products, since each takes far longer; a product above this is not carried on. */
const LARGE_PRODUCT = 1e100;

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

/** β'Aβ of a symmetric matrix given by its lower half. */
function halfForm(half: SquareMatrix, beta: Float64Array, p: number): number {
  let sum = 0;
  for (let i = 0; i < p; i++) {
    let row = half[i * p + i]! * beta[i]!;
    for (let j = 0; j < i; j++) row += 2 * half[i * p + j]! * beta[j]!;
    sum += row * beta[i]!;
  }
  return sum;
}

/** tr(M A) of two symmetric matrices, the second given by its lower half. */
function halfTrace(m: SquareMatrix, half: SquareMatrix, p: number): number {
  let sum = 0;
  for (let i = 0; i < p; i++) {
    sum += m[i * p + i]! * half[i * p + i]!;
    for (let j = 0; j < i; j++) sum += 2 * m[i * p + j]! * half[i * p + j]!;
  }
  return sum;
}
