import { Matrix, QrDecomposition } from 'ml-matrix';
import { type Outcome, unavailable } from '../core/outcome.ts';
import { clusterCovariance } from './cluster-covariance.ts';
import { studentMultiplier } from './distributions.ts';
import { checkIndependent, type SquareMatrix, standardErrors } from './linear-algebra.ts';

interface LinearRegression {
  readonly beta: Float64Array;
  readonly stdErrors: Float64Array;
  readonly low: Float64Array;
  readonly high: Float64Array;
  /** p × p. */
  readonly covariance: SquareMatrix;
  /** With `cluster`: covariance that trusts only independent clusters, factor G/(G−1); else null. */
  readonly robustCovariance: SquareMatrix | null;
  readonly residualSd: number;
  readonly degreesOfFreedom: number;
  readonly nRows: number;
}

interface LinearRegressionOptions {
  readonly names?: readonly string[];
  readonly cluster?: Int32Array;
  readonly confidence?: number;
}

/**
 * Ordinary least squares of y (n) on x (n × p row-major; an intercept is a column of ones), by Householder QR on
 * columns scaled to length 1. Typed `no-rows` for n ≤ p and `collinear`; throws on sizes and values that are
 * not finite. Golub & Van Loan 2013, Matrix Computations, ch. 5.
 */
export function linearRegression(
  x: Float64Array,
  y: Float64Array,
  options: LinearRegressionOptions = {},
): Outcome<LinearRegression> {
  const n = y.length;
  const p = n === 0 ? (options.names?.length ?? 1) : x.length / n;
  if (!Number.isInteger(p) || (n > 0 && p < 1))
    throw new Error(`x must hold a multiple of ${n} values: ${x.length}`);
  for (const [name, values] of [
    ['x', x],
    ['y', y],
  ] as const) {
    const bad = values.findIndex((value) => !Number.isFinite(value));
    if (bad >= 0) throw new Error(`${name} must be finite: ${values[bad]} at ${bad}`);
  }
  if (n <= p)
    return unavailable('no-rows', `there are ${n} records for ${p} quantities to estimate: too few.`);

  const scale = new Float64Array(p);
  for (let row = 0; row < n; row++) for (let j = 0; j < p; j++) scale[j]! += x[row * p + j]! ** 2;
  for (let j = 0; j < p; j++) scale[j] = scale[j]! > 0 ? 1 / Math.sqrt(scale[j]!) : 0;
  const scaled = new Matrix(n, p);
  for (let row = 0; row < n; row++)
    for (let j = 0; j < p; j++) scaled.set(row, j, x[row * p + j]! * scale[j]!);
  const names = options.names ?? Array.from({ length: p }, (_, j) => `column ${j + 1}`);
  const qr = new QrDecomposition(scaled);
  const r = qr.upperTriangularMatrix;
  const weak = Array.from({ length: p }, (_, j) => j).some((j) => Math.abs(r.get(j, j)) < 1e-10);
  if (weak) {
    // Columns have length 1, so R'R has a unit diagonal and names the column that adds nothing.
    const cross = Float64Array.from(r.transpose().mmul(r).to1DArray());
    const dependent = checkIndependent(cross, names);
    return dependent ?? unavailable('collinear', 'these records cannot tell the terms apart.');
  }
  const solve = (right: Float64Array) => qr.solve(Matrix.columnVector(Array.from(right))).to1DArray();
  const residuals = Float64Array.from(y);
  const beta = new Float64Array(p);
  for (let pass = 0; pass < 2; pass++) {
    // The second pass fits what rounding left in the residuals.
    solve(residuals).forEach((value, j) => {
      beta[j]! += value * scale[j]!;
    });
    for (let row = 0; row < n; row++) {
      let fitted = 0;
      for (let j = 0; j < p; j++) fitted += x[row * p + j]! * beta[j]!;
      residuals[row] = y[row]! - fitted;
    }
  }
  const squares = residuals.reduce((sum, value) => sum + value * value, 0);
  const residualSd = Math.sqrt(squares / (n - p));
  const bread = unscaledCovariance(r, scale, p);
  const covariance = bread.map((value) => value * residualSd ** 2);
  const stdErrors = standardErrors(covariance, p);
  const multiplier = studentMultiplier(n - p, options.confidence ?? 0.95);
  const scores = new Float64Array(options.cluster ? n * p : 0);
  if (options.cluster) {
    for (let row = 0; row < n; row++)
      for (let j = 0; j < p; j++) scores[row * p + j] = x[row * p + j]! * residuals[row]!;
  }
  const robust = options.cluster ? clusterCovariance(bread, scores, options.cluster) : null;
  return {
    beta,
    stdErrors,
    low: beta.map((value, j) => value - multiplier * stdErrors[j]!),
    high: beta.map((value, j) => value + multiplier * stdErrors[j]!),
    covariance,
    robustCovariance: robust && 'covariance' in robust ? robust.covariance : null,
    residualSd,
    degreesOfFreedom: n - p,
    nRows: n,
  };
}

/** (X'X)⁻¹ from R by back substitution. */
function unscaledCovariance(r: Matrix, scale: Float64Array, p: number): SquareMatrix {
  const inverse = new Float64Array(p * p);
  for (let column = 0; column < p; column++) {
    for (let i = column; i >= 0; i--) {
      let sum = i === column ? 1 : 0;
      for (let k = i + 1; k <= column; k++) sum -= r.get(i, k) * inverse[k * p + column]!;
      inverse[i * p + column] = sum / r.get(i, i);
    }
  }
  const result = new Float64Array(p * p);
  for (let i = 0; i < p; i++) {
    for (let j = 0; j < p; j++) {
      let sum = 0;
      for (let k = Math.max(i, j); k < p; k++) sum += inverse[i * p + k]! * inverse[j * p + k]!;
      result[i * p + j] = sum * scale[i]! * scale[j]!;
    }
  }
  return result;
}
