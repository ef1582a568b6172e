import { describe, expect, it } from 'vitest';
import { decay, markovKernel } from '../../src/stats/markov-kernel.ts';
import { numericGradient } from '../../src/stats/optimise.ts';
import type { CellKernel } from '../../src/stats/predictor-model.ts';
import { resetKernel, resetProbabilities } from '../../src/stats/reset-kernel.ts';
import { markovProbabilities } from '../../src/stats/two-state-markov.ts';
import { expectAll } from './expect-close.ts';

function analytic(
  kernel: CellKernel,
  eta: Float64Array,
): { value: number; first: number[]; second: number[] } {
  const m = kernel.predictors;
  const out = new Float64Array(1 + m + (m * (m + 1)) / 2);
  kernel.at(0, eta, out);
  return { value: out[0]!, first: [...out.subarray(1, 1 + m)], second: [...out.subarray(1 + m)] };
}

/** First derivatives against differences of the value, second against differences of the first. */
function expectDerivatives(kernel: CellKernel, eta: Float64Array, relative = 3e-6): void {
  const m = kernel.predictors;
  const { first, second } = analytic(kernel, eta);
  expectAll(
    first,
    numericGradient((e) => analytic(kernel, e).value, eta),
    3e-6,
  );
  const numeric: number[] = [];
  for (let i = 0; i < m; i += 1) {
    numeric.push(...numericGradient((e) => analytic(kernel, e).first[i]!, eta).subarray(i));
  }
  expectAll(second, numeric, relative);
}

const MOVES = [
  [0, 0],
  [0, 1],
  [1, 0],
  [1, 1],
] as const;

describe('two-state Markov kernel', () => {
  it.each(MOVES)('has the derivatives of its value, from %i to %i', (start, end) => {
    for (const eta of [
      [-1, 0.5],
      [1.2, -3],
      [-6, -5],
      [2, 2.5],
    ]) {
      expectDerivatives(markovKernel([start], [end], [0.7]), Float64Array.from(eta));
    }
  });

  it('agrees with the quotient and with its series where they meet', () => {
    const quotient = (1 - Math.exp(-1)) / 1;
    const slope = Math.exp(-1) - quotient;
    expectAll(decay(1), [quotient, slope, -Math.exp(-1) - 2 * slope], 1e-13);
    expectAll(decay(0), [1, -1 / 2, 1 / 3], 1e-14);
    expectAll(decay(1 + 1e-9), decay(1), 1e-8);
  });

  it('gives the closed-form probabilities', () => {
    // State 1 left at .1 and entered at .3: closed form b/(a + b) + a/(a + b)·exp(−(a + b)t), evaluated by hand.
    expectAll(
      [1, 4, 10].map((t) => markovProbabilities(0.3, 0.1, t).p11),
      [0.91758001, 0.80047413, 0.75457891],
      1e-8,
    );
    expect(markovProbabilities(0, 0, 3)).toEqual({ p01: 0, p11: 1 });
  });
});

/** P01 by Simpson's rule on 40,000 steps in u, v = u¹²: another variable and another rule than the kernel's. */
function simpson(h: number, k: number, r: number): number {
  const steps = 40_000;
  const f = (u: number) => h * 12 * u ** 11 * Math.exp(-h * (1 - u ** 12) - r * (1 - u ** (12 / k)));
  let sum = f(1);
  for (let i = 1; i < steps; i += 1) sum += (i % 2 ? 4 : 2) * f(i / steps);
  return sum / (3 * steps);
}

describe('kernel of onset since the reset', () => {
  it('integrates to 8 digits from mild to steep hazards', () => {
    for (const k of [0.6, 1, 1.6, 3]) {
      for (const h of [0.001, 0.3, 5, 9, 40]) {
        for (const r of [0.02, 0.5, 6]) {
          const { p01 } = resetProbabilities([Math.log(h), Math.log(r), Math.log(k)], 42, 42, 42);
          expectAll([p01 / simpson(h, k, r)], [1], 2e-8);
        }
      }
    }
  });

  it('is the Markov model when the exponent is 1', () => {
    const { p01, p11 } = resetProbabilities([Math.log(0.3), Math.log(2), 0], 70, 42, 365.25);
    const markov = markovProbabilities((0.3 * 365.25) / 42, 2, 70 / 365.25);
    expectAll([p01, p11], [markov.p01, markov.p11], 1e-9);
  });

  it('without clearing is the Weibull chance of an onset by then', () => {
    const { p01, p11 } = resetProbabilities([Math.log(0.25), -60, Math.log(1.6)], 63, 42, 365.25);
    expectAll([p01, p11], [1 - Math.exp(-0.25 * 1.5 ** 1.6), 1], 1e-9);
  });

  it.each(MOVES)('has the derivatives of its value, from %i to %i', (start, end) => {
    // Where H is large the chance of ending in 0 is a difference of two numbers near 1, known to fewer digits.
    for (const [eta, relative] of [
      [[-1.3, 1.2, 0.47], 3e-6],
      [[-3, 2, -0.4], 3e-6],
      [[0.5, -1, 0.9], 3e-5],
      [[2.6, 1, 0.2], 1e-4],
    ] as const) {
      for (const days of [21, 42]) {
        const kernel = resetKernel([start], [end], [days], { referenceDays: 42, yearDays: 365.25 });
        expectDerivatives(kernel, Float64Array.from(eta), relative);
      }
    }
  });

  it('tells cells that share their chances as each by itself, at one place and then at another', () => {
    const states = [
      [0, 1, 0, 1],
      [0, 1, 1, 0],
      [21, 42, 21, 42],
    ] as const;
    const options = { referenceDays: 42, yearDays: 365.25 };
    const shared = resetKernel(...states, { ...options, alike: Int32Array.of(0, 1, 0, 1) });
    const single = resetKernel(...states, options);
    const [a, b] = [new Float64Array(10), new Float64Array(10)];
    for (const eta of [
      [-1.3, 1.2, 0.47],
      [-1.3, 1.2, 0.4],
      [-1.2, 1.2, 0.4],
    ]) {
      for (const cell of [0, 1, 2, 3]) {
        shared.at(cell, Float64Array.from(eta), a);
        single.at(cell, Float64Array.from(eta), b);
        expect(a).toEqual(b);
      }
    }
  });

  it('tells cells apart of which there are too many for the work of each to be kept', () => {
    const options = { referenceDays: 42, yearDays: 365.25 };
    const states = [
      [0, 0, 1, 0],
      [1, 1, 0, 0],
      [21, 42, 63, 21],
    ] as const;
    // The first three take the same place, one after the other.
    const alike = Int32Array.of(5, 5 + 2 ** 16, 5 + 2 ** 19, 5);
    const many = resetKernel(...states, { ...options, alike });
    const single = resetKernel(...states, options);
    const eta = Float64Array.of(-1.3, 1.2, 0.47);
    const [a, b] = [new Float64Array(10), new Float64Array(10)];
    for (const cell of [0, 1, 2, 3, 0, 0, 2]) {
      many.at(cell, eta, a);
      single.at(cell, eta, b);
      expect(a).toEqual(b);
    }
  });

  it('gives the derivatives of both probabilities', () => {
    const eta = Float64Array.of(-0.8, 1.3, 0.5);
    const at = resetProbabilities(eta, 55, 42, 365.25);
    const p = (name: 'p01' | 'p11') =>
      numericGradient((e) => resetProbabilities(e, 55, 42, 365.25)[name], eta);
    expectAll(at.gradient01, p('p01'), 1e-7);
    expectAll(at.gradient11, p('p11'), 1e-7);
  });
});
