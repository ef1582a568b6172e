import { expect } from 'vitest';
import { isUnavailable, type Outcome, type UnavailableReason } from '../../src/core/outcome.ts';

/** The value of an outcome that must be there. */
export function value<T>(outcome: Outcome<T>): T {
  if (isUnavailable(outcome)) throw new Error(`${outcome.unavailable}: ${outcome.sentence}`);
  return outcome;
}

export function expectReason(outcome: Outcome<unknown>, reason: UnavailableReason): void {
  expect(isUnavailable(outcome) ? outcome.unavailable : 'available').toBe(reason);
  if (isUnavailable(outcome)) expect(outcome.sentence).toMatch(/^[a-z].*\.$/);
}

/** Every value within a relative distance (of the larger of the expected size and 1e-3). */
export function expectAll(actual: ArrayLike<number>, expected: ArrayLike<number>, relative: number): void {
  expect(actual.length).toBe(expected.length);
  for (let i = 0; i < expected.length; i += 1) {
    const scale = Math.max(Math.abs(expected[i]!), 1e-3);
    expect(
      Math.abs(actual[i]! - expected[i]!) / scale,
      `value ${i}: ${actual[i]} for ${expected[i]}`,
    ).toBeLessThan(relative);
  }
}

/** Standard errors of a fit's parameters. */
export function errorsOf(fit: { readonly covariance: Float64Array; readonly theta: Float64Array }): number[] {
  const q = fit.theta.length;
  return Array.from(fit.theta, (_, j) => Math.sqrt(fit.covariance[j * q + j]!));
}
