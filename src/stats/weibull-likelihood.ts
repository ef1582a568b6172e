import type { SquareMatrix } from './linear-algebra.ts';

/**
 * Rows for the kernel. `logLeft` is −Infinity for a left end of 0, `logRight` Infinity for no right end, and
 * both are equal for a known time. `design` is n × q row-major with the intercept first.
 */
export interface WeibullRows {
  readonly logLeft: Float64Array;
  readonly logRight: Float64Array;
  readonly design: Float64Array;
  readonly weight: Float64Array;
  /** Added to the linear predictor. */
  readonly offset: Float64Array;
  readonly q: number;
}

/** Parameters are q log-hazard coefficients ψ and the shape α: log H(t) = α log t + x′ψ. */
export interface WeibullDerivatives {
  readonly value: number;
  readonly gradient: Float64Array;
  readonly hessian: SquareMatrix;
}

// Beyond this a cumulative hazard is 0 or endless for every purpose, and its square still fits a double.
const LIMIT = 300;

/** Log-likelihood contribution and its first and second derivatives in log H at the two ends. */
interface Ends {
  value: number;
  gLeft: number;
  gRight: number;
  hLeft: number;
  hBoth: number;
  hRight: number;
}

/**
 * With h = H(left), H = H(right): log(e^−h − e^−H) = −h + log(1 − e^−(H − h)), of which right-censored
 * (H = ∞) and left-censored (h = 0) rows are limits; known times give log of the density without the
 * −log t and log α that do not depend on log H.
 */
function fillEnds(left: number, right: number, shape: number, linear: number, ends: Ends): void {
  ends.gLeft = 0;
  ends.gRight = 0;
  ends.hLeft = 0;
  ends.hBoth = 0;
  ends.hRight = 0;
  const zLeft = clamp(shape * left + linear);
  const h = left === Number.NEGATIVE_INFINITY ? 0 : Math.exp(zLeft);
  if (left === right) {
    ends.value = zLeft - h;
    ends.gRight = 1 - h;
    ends.hRight = -h;
    return;
  }
  if (right === Number.POSITIVE_INFINITY) {
    ends.value = -h;
    ends.gLeft = -h;
    ends.hLeft = -h;
    return;
  }
  const zRight = clamp(shape * right + linear);
  const H = Math.exp(zRight);
  const gap = h === 0 ? H : h * Math.expm1(shape * (right - left));
  const r = 1 / Math.expm1(gap);
  const rr = r * (1 + r);
  ends.value = -h + logOneMinusExp(gap);
  ends.gLeft = -h * (1 + r);
  ends.gRight = r === 0 ? 0 : H * r;
  ends.hLeft = -h * (1 + r) - h * h * rr;
  ends.hBoth = r === 0 ? 0 : h * H * rr;
  ends.hRight = r === 0 ? 0 : H * r - H * H * rr;
}

function clamp(z: number): number {
  return Math.max(-LIMIT, Math.min(LIMIT, z));
}

/** log(1 − e^−x) for x > 0 without loss of digits (Mächler 2012, note to R package Rmpfr). */
function logOneMinusExp(x: number): number {
  return x > Math.LN2 ? Math.log1p(-Math.exp(-x)) : Math.log(-Math.expm1(-x));
}

const emptyEnds = (): Ends => ({ value: 0, gLeft: 0, gRight: 0, hLeft: 0, hBoth: 0, hRight: 0 });

/** Log-likelihood, gradient (q + 1) and second derivatives at `theta`; −Infinity where the shape is not above 0. */
export function weibullDerivatives(rows: WeibullRows, theta: Float64Array): WeibullDerivatives {
  const { logLeft, logRight, design, weight, q } = rows;
  const p = q + 1;
  const shape = theta[q]!;
  const gradient = new Float64Array(p);
  const hessian = new Float64Array(p * p);
  if (!(shape > 0)) return { value: Number.NEGATIVE_INFINITY, gradient, hessian };
  const ends = emptyEnds();
  let value = 0;
  for (let i = 0; i < logLeft.length; i += 1) {
    const left = logLeft[i]!;
    const right = logRight[i]!;
    const w = weight[i]!;
    fillEnds(left, right, shape, linearPredictor(rows, theta, i), ends);
    const uLeft = left === Number.NEGATIVE_INFINITY ? 0 : left;
    const uRight = right === Number.POSITIVE_INFINITY ? 0 : right;
    value += w * ends.value;
    let gShape = uLeft * ends.gLeft + uRight * ends.gRight;
    let hShape = uLeft * uLeft * ends.hLeft + 2 * uLeft * uRight * ends.hBoth + uRight * uRight * ends.hRight;
    if (left === right) {
      value += w * (Math.log(shape) - right);
      gShape += 1 / shape;
      hShape -= 1 / (shape * shape);
    }
    const g = w * (ends.gLeft + ends.gRight);
    const h = w * (ends.hLeft + 2 * ends.hBoth + ends.hRight);
    const cross = w * ((ends.hLeft + ends.hBoth) * uLeft + (ends.hRight + ends.hBoth) * uRight);
    for (let a = 0; a < q; a += 1) {
      const xa = design[i * q + a]!;
      if (xa === 0) continue;
      gradient[a]! += xa * g;
      hessian[a * p + q]! += xa * cross;
      for (let b = 0; b <= a; b += 1) hessian[a * p + b]! += xa * design[i * q + b]! * h;
    }
    gradient[q]! += w * gShape;
    hessian[q * p + q]! += w * hShape;
  }
  for (let a = 0; a < q; a += 1) {
    hessian[q * p + a] = hessian[a * p + q]!;
    for (let b = 0; b < a; b += 1) hessian[b * p + a] = hessian[a * p + b]!;
  }
  return { value, gradient, hessian };
}

/** Each row's weighted gradient, n × (q + 1) row-major. */
export function weibullScores(rows: WeibullRows, theta: Float64Array): Float64Array {
  const { logLeft, logRight, design, weight, q } = rows;
  const shape = theta[q]!;
  const scores = new Float64Array(logLeft.length * (q + 1));
  const ends = emptyEnds();
  for (let i = 0; i < logLeft.length; i += 1) {
    const left = logLeft[i]!;
    const right = logRight[i]!;
    fillEnds(left, right, shape, linearPredictor(rows, theta, i), ends);
    const base = i * (q + 1);
    const g = weight[i]! * (ends.gLeft + ends.gRight);
    for (let a = 0; a < q; a += 1) scores[base + a] = design[i * q + a]! * g;
    let gShape = left === Number.NEGATIVE_INFINITY ? 0 : left * ends.gLeft;
    if (right !== Number.POSITIVE_INFINITY) gShape += right * ends.gRight;
    if (left === right) gShape += 1 / shape;
    scores[base + q] = weight[i]! * gShape;
  }
  return scores;
}

function linearPredictor({ design, offset, q }: WeibullRows, theta: Float64Array, i: number): number {
  let sum = offset[i]!;
  for (let a = 0; a < q; a += 1) sum += design[i * q + a]! * theta[a]!;
  return sum;
}
