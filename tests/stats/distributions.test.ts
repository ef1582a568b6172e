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
  it('names what is wrong with its input', () => {
    expect(() => normalQuantile(1)).toThrow('p must lie between 0 and 1: 1');
    expect(() => normalMultiplier(95)).toThrow('confidence must lie between 0 and 1: 95');
    expect(() => studentQuantile(0.5, 0)).toThrow('degrees of freedom must be positive: 0');
  });
});
