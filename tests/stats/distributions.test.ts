import { execFileSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import {
  chiSquareCdf,
  chiSquareQuantile,
  fCdf,
  fQuantile,
  normalCdf,
  normalMultiplier,
  normalQuantile,
  studentCdf,
  studentMultiplier,
  studentQuantile,
} from '../../src/stats/distributions.ts';
import reference from '../reference/distributions.json' with { type: 'json' };

// R's own functions, printed to 15 digits. 1e-11 relative is what the library reaches in both tails.
const within = (actual: number, expected: number) =>
  expect(Math.abs(actual - expected), `${actual} for ${expected}`).toBeLessThanOrEqual(
    1e-11 * Math.max(Math.abs(expected), 1e-300) + (expected === 0 ? 1e-15 : 0),
  );

describe('distributions against R', () => {
  it('normal', () => {
    for (const { z, value } of reference.normal_cdf) within(normalCdf(z), value);
    for (const { p, value } of reference.normal_quantile) within(normalQuantile(p), value);
  });
  it('t', () => {
    for (const { t, df, value } of reference.t_cdf) within(studentCdf(t, df), value);
    for (const { p, df, value } of reference.t_quantile) within(studentQuantile(p, df), value);
  });
  it('chi-square', () => {
    for (const { x, df, value } of reference.chisq_cdf) within(chiSquareCdf(x, df), value);
    for (const { p, df, value } of reference.chisq_quantile) within(chiSquareQuantile(p, df), value);
  });
  it('F', () => {
    for (const { x, df1, df2, value } of reference.f_cdf) within(fCdf(x, df1, df2), value);
    for (const { p, df1, df2, value } of reference.f_quantile) within(fQuantile(p, df1, df2), value);
  });
  it('gives the usual multipliers', () => {
    within(normalMultiplier(), 1.95996398454005);
    within(studentMultiplier(5), 2.57058183563631);
    expect(studentMultiplier(5, 0.5)).toBeLessThan(studentMultiplier(5, 0.9));
  });
  it('gives the multiplier of a confidence at any degrees of freedom as the library has it', () => {
    // Pieces end at 1/0.06, 4, 1/0.6 and 1; below 1 the library answers itself.
    const degrees = [
      0.3,
      1,
      1.001,
      1.2,
      5 / 3,
      1.7,
      2,
      3,
      3.999,
      4,
      4.1,
      7.77,
      16.6,
      16.7,
      30,
      123.4,
      1e4,
      1e9,
    ];
    for (const confidence of [0.5, 0.8, 0.9, 0.95, 0.99, 0.999]) {
      for (const df of degrees) {
        within(studentMultiplier(df, confidence), studentQuantile((1 + confidence) / 2, df));
      }
    }
    // Table 12 of Biometrika Tables for Statisticians, vol. 1 (from memory), as far as it goes.
    const published = { 1: 12.706, 2: 4.303, 3: 3.182, 5: 2.571, 10: 2.228, 30: 2.042, 120: 1.98 };
    for (const [df, value] of Object.entries(published)) {
      expect(studentMultiplier(Number(df))).toBeCloseTo(value, 3);
    }
  });
  it('names what is wrong with its input', () => {
    expect(() => normalQuantile(1)).toThrow('p must lie between 0 and 1: 1');
    expect(() => normalMultiplier(95)).toThrow('confidence must lie between 0 and 1: 95');
    expect(() => studentQuantile(0.5, 0)).toThrow('degrees of freedom must be positive: 0');
  });

  it('runs, with the other numerical packages, where no code may be made from text', () => {
    const script = `
      import('@stdlib/stats-base-dists-t-quantile').then(async ({ default: quantile }) => {
        for (const name of ['chisquare-cdf', 'chisquare-quantile', 'f-cdf', 'f-quantile', 'normal-cdf', 'normal-quantile', 't-cdf'])
          await import('@stdlib/stats-base-dists-' + name);
        const { Matrix, CholeskyDecomposition, QrDecomposition } = await import('ml-matrix');
        const root = new CholeskyDecomposition(new Matrix([[4]])).lowerTriangularMatrix.get(0, 0);
        new QrDecomposition(new Matrix([[4], [3]])).solve(new Matrix([[1], [1]]));
        const { uniformInt } = await import('pure-rand/distribution/uniformInt');
        const { xoroshiro128plus } = await import('pure-rand/generator/xoroshiro128plus');
        let barred = false;
        try { new Function('return 1')(); } catch { barred = true; }
        console.log(barred, quantile(0.975, 5).toFixed(4), root, uniformInt(xoroshiro128plus(1), 3, 3));
      });`;
    const args = ['--disallow-code-generation-from-strings', '--input-type=module', '-e', script];
    expect(execFileSync(process.execPath, args, { encoding: 'utf8' }).trim()).toBe('true 2.5706 2 3');
  });
});
