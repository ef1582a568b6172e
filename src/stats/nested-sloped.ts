import { dot, type SquareMatrix } from './linear-algebra.ts';
import { addCross, addOuter, addTwoOuters } from './nested-columns.ts';
import { concluded, type NestedEvaluation } from './nested-evaluate.ts';
import type { NestedSums } from './nested-sums.ts';

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
 * Clusters are summed so many at a time, each time by a call of its own: a loop over all of them, a few times in a session,
 * is over before the browser has made it quick.
 */
const STRETCH_CLUSTERS = 512;

/** What is summed over clusters, and the room for one of them. */
interface Slopes {
  readonly a: SquareMatrix;
  readonly b: Float64Array;
  q: number;
  logs: number;
  readonly fall1: Fall;
  readonly fall2: Fall;
  readonly outer: Float64Array;
  readonly outer1: Float64Array;
  readonly outer2: Float64Array;
  readonly uh: Float64Array;
  readonly duh: Float64Array;
  readonly linear: Float64Array;
  readonly linear2: Float64Array;
}

/**
 * The same with all that its slopes need, in one pass: the derivative of (v − U'β)² k by λ is −(v − U'β)² k², which is
 * summed without β as its three parts v², vU and UU' and put together when β is known.
 */
export function evaluateSloped(sums: NestedSums, l1: number, l2: number): SlopedEvaluation | null {
  const { p, clusterStart } = sums;
  const half = (p * (p + 1)) / 2;
  const slopes: Slopes = {
    a: Float64Array.from(sums.xx),
    b: Float64Array.from(sums.xy),
    q: sums.yy,
    logs: 0,
    fall1: emptyFall(p),
    fall2: emptyFall(p),
    outer: new Float64Array(half),
    outer1: new Float64Array(half),
    outer2: new Float64Array(half),
    uh: new Float64Array(p),
    duh: new Float64Array(p),
    linear: new Float64Array(p),
    linear2: new Float64Array(p),
  };
  const clusters = clusterStart.length - 1;
  for (let from = 0; from < clusters; from += STRETCH_CLUSTERS) {
    addSlopes(slopes, sums, l1, l2, from, Math.min(clusters, from + STRETCH_CLUSTERS));
  }
  const { a, b, q, logs, fall1, fall2 } = slopes;
  const found = concluded(sums, a, b, q, logs);
  return found && { ...found, fall1, fall2 };
}

function addSlopes(
  slopes: Slopes,
  sums: NestedSums,
  l1: number,
  l2: number,
  start: number,
  end: number,
): void {
  const { a, b, fall1, fall2, outer, outer1, outer2, uh, duh, linear, linear2 } = slopes;
  const { p, v, s, clusterStart } = sums;
  const { columns, columnStart, values, valueStart } = sums.own;
  let product = 1;
  let logs = 0;
  let q = 0;
  let q1 = 0;
  let q2 = 0;
  let logs1 = 0;
  let logs2 = 0;
  for (let g = start; g < end; g++) {
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
  slopes.q += q;
  slopes.logs += logs + Math.log(product);
  fall1.q += q1;
  fall2.q += q2;
  fall1.logs += logs1;
  fall2.logs += logs2;
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
