import { CholeskyDecomposition, Matrix } from 'ml-matrix';
import { type Outcome, unavailable } from '../core/outcome.ts';

/** A p × p matrix, row-major. */
export type SquareMatrix = Float64Array;

/** Cholesky factor of a symmetric positive definite matrix, ready to be used many times. */
export interface SpdFactor {
  /** x with A x = b; b has p values. */
  solve(b: Float64Array): Float64Array;
  inverse(): SquareMatrix;
  /** Natural logarithm of the determinant. */
  logDeterminant(): number;
}

/**
 * Factor of a symmetric p × p matrix (its two halves are averaged), or null where it is not positive definite.
 * The matrix is scaled to unit diagonal first, so that columns in very different units do no harm.
 */
export function factorSpd(a: SquareMatrix, p: number): SpdFactor | null {
  checkSize('a', a, p * p);
  const scale = new Float64Array(p);
  for (let i = 0; i < p; i++) {
    const diagonal = a[i * p + i]!;
    if (!(diagonal > 0) || !Number.isFinite(diagonal)) return null;
    scale[i] = 1 / Math.sqrt(diagonal);
  }
  const scaled = new Matrix(p, p);
  for (let i = 0; i < p; i++) {
    for (let j = 0; j <= i; j++) {
      const value = ((a[i * p + j]! + a[j * p + i]!) / 2) * scale[i]! * scale[j]!;
      scaled.set(i, j, value);
      scaled.set(j, i, value);
    }
  }
  if (p === 0)
    return { solve: () => new Float64Array(0), inverse: () => new Float64Array(0), logDeterminant: () => 0 };
  const cholesky = new CholeskyDecomposition(scaled);
  if (!cholesky.isPositiveDefinite()) return null;
  const lower = cholesky.lowerTriangularMatrix;
  return {
    solve(b) {
      checkSize('b', b, p);
      const right = Matrix.columnVector(Array.from(b, (value, i) => value * scale[i]!));
      const solution = cholesky.solve(right);
      return Float64Array.from({ length: p }, (_, i) => solution.get(i, 0) * scale[i]!);
    },
    inverse() {
      const solution = cholesky.solve(Matrix.eye(p, p));
      const result = new Float64Array(p * p);
      for (let i = 0; i < p; i++) {
        for (let j = 0; j < p; j++) {
          result[i * p + j] = ((solution.get(i, j) + solution.get(j, i)) / 2) * scale[i]! * scale[j]!;
        }
      }
      return result;
    },
    logDeterminant() {
      let sum = 0;
      for (let i = 0; i < p; i++) sum += 2 * (Math.log(lower.get(i, i)) - Math.log(scale[i]!));
      return sum;
    },
  };
}

/**
 * Columns that are (nearly) linear combinations of the columns before them, from their p × p cross-product X'X.
 * A column is reported where the share of its sum of squares that the earlier kept columns leave unexplained
 * falls below `tolerance`; a column of zeros is reported too. Elimination in column order, as in a pivoted QR that
 * prefers earlier columns, so that the first of two equal columns is the one kept.
 */
export function collinearColumns(crossProduct: SquareMatrix, p: number, tolerance = 1e-10): number[] {
  checkSize('crossProduct', crossProduct, p * p);
  const work = Float64Array.from(crossProduct);
  const found: number[] = [];
  for (let k = 0; k < p; k++) {
    const total = crossProduct[k * p + k]!;
    const pivot = work[k * p + k]!;
    if (!(total > 0) || pivot < tolerance * total) {
      found.push(k);
      continue;
    }
    for (let i = k + 1; i < p; i++) {
      const factor = work[i * p + k]! / pivot;
      if (factor === 0) continue;
      for (let j = k; j < p; j++) work[i * p + j]! -= factor * work[k * p + j]!;
    }
  }
  return found;
}

/** Nothing where the columns are independent; else a typed `collinear` that names those that add nothing new. */
export function checkIndependent(
  crossProduct: SquareMatrix,
  names: readonly string[],
  tolerance?: number,
): ReturnType<typeof unavailable> | null {
  const found = collinearColumns(crossProduct, names.length, tolerance);
  if (found.length === 0) return null;
  const listed = found.map((index) => names[index]!).join(', ');
  return unavailable(
    'collinear',
    `these records cannot tell the terms apart: ${listed} never varies on its own, so its share cannot be estimated.`,
  );
}

/** x with A x = b for a symmetric positive definite A; typed `collinear` where A is not. */
export function solveSpd(a: SquareMatrix, b: Float64Array, p: number): Outcome<Float64Array> {
  return factorSpd(a, p)?.solve(b) ?? notPositive();
}

/** Inverse of a symmetric positive definite matrix; typed `collinear` where it is not. */
export function inverseSpd(a: SquareMatrix, p: number): Outcome<SquareMatrix> {
  return factorSpd(a, p)?.inverse() ?? notPositive();
}

/** w' V w. */
export function quadraticForm(v: SquareMatrix, w: Float64Array): number {
  const p = w.length;
  checkSize('v', v, p * p);
  let sum = 0;
  for (let i = 0; i < p; i++) {
    // Most gradients are 0 in most parameters.
    if (w[i] === 0) continue;
    let row = 0;
    for (let j = 0; j < p; j++) row += v[i * p + j]! * w[j]!;
    sum += w[i]! * row;
  }
  return sum;
}

/** Product of an n × m and an m × k matrix, row-major. */
export function multiply(a: Float64Array, b: Float64Array, n: number, m: number, k: number): Float64Array {
  checkSize('a', a, n * m);
  checkSize('b', b, m * k);
  const result = new Float64Array(n * k);
  for (let i = 0; i < n; i++) {
    for (let l = 0; l < m; l++) {
      const value = a[i * m + l]!;
      if (value === 0) continue;
      for (let j = 0; j < k; j++) result[i * k + j]! += value * b[l * k + j]!;
    }
  }
  return result;
}

/** a'b. */
export function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

/** Square roots of the diagonal: standard errors from a covariance. */
export function standardErrors(covariance: SquareMatrix, p: number): Float64Array {
  return Float64Array.from({ length: p }, (_, i) => Math.sqrt(covariance[i * p + i]!));
}

function notPositive() {
  return unavailable(
    'collinear',
    'these records cannot tell the terms apart, so they cannot be estimated separately.',
  );
}

function checkSize(name: string, values: Float64Array, size: number): void {
  if (values.length !== size) throw new Error(`${name} must hold ${size} values: ${values.length}`);
}
