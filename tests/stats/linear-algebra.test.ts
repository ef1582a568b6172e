import { describe, expect, it } from 'vitest';
import { isUnavailable } from '../../src/core/outcome.ts';
import {
  checkIndependent,
  collinearColumns,
  factorSpd,
  inverseSpd,
  multiply,
  quadraticForm,
  solveSpd,
  standardErrors,
} from '../../src/stats/linear-algebra.ts';

const a = Float64Array.of(4, 2, 2, 3); // determinant 8, inverse [3 −2; −2 4]/8

describe('symmetric positive definite matrices', () => {
  it('solves, inverts and takes the determinant of a case done by hand', () => {
    const factor = factorSpd(a, 2)!;
    expect(Array.from(factor.solve(Float64Array.of(8, 8)))).toEqual([
      expect.closeTo(1, 14),
      expect.closeTo(2, 14),
    ]);
    expect(Array.from(factor.inverse())).toEqual(
      [0.375, -0.25, -0.25, 0.5].map((v) => expect.closeTo(v, 14)),
    );
    expect(factor.logDeterminant()).toBeCloseTo(Math.log(8), 14);
    expect(quadraticForm(a, Float64Array.of(1, -2))).toBe(8);
    expect(Array.from(standardErrors(a, 2))).toEqual([2, Math.sqrt(3)]);
  });

  it('is not upset by columns in units a million times apart', () => {
    const d = [1e6, 1e-6];
    const scaled = a.map((v, k) => v * d[k >> 1]! * d[k & 1]!);
    const inverse = factorSpd(scaled, 2)!.inverse();
    const product = multiply(scaled, inverse, 2, 2, 2);
    expect(product[0]).toBeCloseTo(1, 12);
    expect(product[3]).toBeCloseTo(1, 12);
  });

  it('refuses a singular matrix by a typed outcome, not by a number', () => {
    const singular = Float64Array.of(1, 1, 1, 1);
    expect(factorSpd(Float64Array.of(1, 2, 2, 1), 2)).toBeNull();
    expect(solveSpd(Float64Array.of(1, 2, 2, 1), Float64Array.of(1, 1), 2)).toMatchObject({
      unavailable: 'collinear',
    });
    expect(isUnavailable(inverseSpd(singular, 2)) || collinearColumns(singular, 2).length > 0).toBe(true);
  });
});

describe('collinearColumns', () => {
  const crossProduct = (rows: number[][]) => {
    const p = rows[0]!.length;
    const flat = Float64Array.from(rows.flat());
    const transposed = Float64Array.from(
      { length: flat.length },
      (_, k) => rows[k % rows.length]![Math.floor(k / rows.length)]!,
    );
    return multiply(transposed, flat, p, rows.length, p);
  };

  it('keeps the first of two equal columns and names the later one', () => {
    const rows = [
      [1, 2, 2],
      [1, 5, 5],
      [1, 7, 7],
    ];
    expect(collinearColumns(crossProduct(rows), 3)).toEqual([2]);
    const found = checkIndependent(crossProduct(rows), ['level', 'wet', 'soft']);
    expect(found?.sentence).toContain('soft');
    expect(found?.sentence).not.toContain('wet');
  });

  it('finds sums of columns and empty columns', () => {
    const rows = [
      [1, 1, 0, 0],
      [1, 0, 1, 0],
      [1, 1, 0, 0],
      [1, 0, 1, 0],
    ];
    expect(collinearColumns(crossProduct(rows), 4)).toEqual([2, 3]);
  });

  it('passes a year number beside an intercept, which only looks collinear', () => {
    const rows = [
      [1, 2021],
      [1, 2022],
      [1, 2023],
      [1, 2024],
    ];
    expect(collinearColumns(crossProduct(rows), 2)).toEqual([]);
    expect(checkIndependent(crossProduct(rows), ['level', 'year'])).toBeNull();
  });

  it('rejects a matrix of the wrong size', () => {
    expect(() => collinearColumns(new Float64Array(3), 2)).toThrow('crossProduct must hold 4 values: 3');
  });
});
