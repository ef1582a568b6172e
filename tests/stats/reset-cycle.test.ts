import { describe, expect, it } from 'vitest';
import { isUnavailable } from '../../src/core/outcome.ts';
import { fitOnsetSinceReset, type ResetFit } from '../../src/stats/onset-since-reset.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { onsetRates, steadyCycle } from '../../src/stats/reset-cycle.ts';
import { resetProbabilities } from '../../src/stats/reset-kernel.ts';
import { resetRisk } from '../../src/stats/reset-risk.ts';
import { standardisedResetRisk } from '../../src/stats/standardise.ts';

const YEAR = 365.25;
const REFERENCE = 42;

describe('a process looked at every so often for ever', () => {
  it('has, at exponent 1, the onsets of the plain two-state process, however often it is looked at', () => {
    // Onset a = 0.5, clearing b = 2 a year: state 1 a/(a + b) = 0.2 of the time, onsets a·0.8 = 0.4 a year.
    const eta = [Math.log((0.5 * REFERENCE) / YEAR), Math.log(2), 0] as const;
    for (const days of [7, 42, 200]) {
      const steady = steadyCycle(eta, days, REFERENCE, YEAR);
      expect(steady.onsetsPerYear).toBeCloseTo(0.4, 9);
      expect(steady.shareAtLook).toBeCloseTo(0.2, 9);
    }
  });

  it('has as many onsets as a foot simulated day by day, above exponent 1', () => {
    const [h, rho, k, days] = [0.08, 2.5, 1.8, 63];
    const eta = [Math.log(h), Math.log(rho), Math.log(k)] as const;
    const steady = steadyCycle(eta, days, REFERENCE, YEAR);
    const random = seededRandom(11);
    let [state, onsets, affected] = [0, 0, 0];
    const cycles = 30_000;
    for (let cycle = 0; cycle < cycles; cycle += 1) {
      let now = 0;
      while (now < days) {
        if (state === 1) {
          now += random.exponential(rho / YEAR);
          if (now < days) state = 0;
          continue;
        }
        // From `now` the next onset by inversion of h((t/42)^k − (now/42)^k).
        const target = (now / REFERENCE) ** k + random.exponential() / h;
        now = REFERENCE * target ** (1 / k);
        if (now >= days) break;
        state = 1;
        onsets += 1;
      }
      affected += state;
    }
    const perYear = onsets / ((cycles * days) / YEAR);
    // Poisson and binomial errors of about 0.7 % and 0.9 %: three of them.
    expect(Math.abs(perYear / steady.onsetsPerYear - 1)).toBeLessThan(0.025);
    expect(Math.abs(affected / cycles / steady.shareAtLook - 1)).toBeLessThan(0.03);
    // The share a year on, reached by stepping from a clear start.
    let share = 0;
    for (let cycle = 0; cycle < 200; cycle += 1) {
      const { p01, p11 } = resetProbabilities(eta, days, REFERENCE, YEAR);
      share = share * p11 + (1 - share) * p01;
    }
    expect(steady.shareAtLook).toBeCloseTo(share, 10);
  });

  it('has the derivatives that differences give', () => {
    const eta: [number, number, number] = [Math.log(0.06), Math.log(1.9), Math.log(1.5)];
    const { gradient } = steadyCycle(eta, 56, REFERENCE, YEAR);
    const step = 1e-5;
    for (const j of [0, 1, 2] as const) {
      const at = (sign: number) => {
        const moved: [number, number, number] = [...eta];
        moved[j] += sign * step;
        return steadyCycle(moved, 56, REFERENCE, YEAR).onsetsPerYear;
      };
      expect(gradient[j]).toBeCloseTo((at(1) - at(-1)) / (2 * step), 6);
    }
  });
});

/** 40 clusters of two groups, the second at twice the onset, intervals of 4 to 10 weeks, exponent 1.6. */
function simulated(): ResetFit {
  const random = seededRandom(5);
  const [start, end, time, group, cluster]: number[][] = [[], [], [], [], []];
  for (let horse = 0; horse < 40; horse += 1) {
    for (let foot = 0; foot < 2; foot += 1) {
      let state = 0;
      for (let visit = 0; visit < 14; visit += 1) {
        const days = 7 * random.integer(4, 10);
        const eta = [Math.log(0.09 * (horse % 2 ? 2 : 1)), Math.log(3), Math.log(1.6)];
        const { p01, p11 } = resetProbabilities(eta, days, REFERENCE, YEAR);
        const next = random.uniform() < (state ? p11 : p01) ? 1 : 0;
        start!.push(state);
        end!.push(next);
        time!.push(days);
        group!.push(horse % 2);
        cluster!.push(horse);
        state = next;
      }
    }
  }
  const n = start!.length;
  const fit = fitOnsetSinceReset({
    start: start!,
    end: end!,
    time: time!,
    onset: Float64Array.from({ length: 2 * n }, (_, at) => (at % 2 ? group![at >> 1]! : 1)),
    onsetTerms: ['level', 'second group'],
    clearing: new Float64Array(n).fill(1),
    clearingTerms: ['clearing'],
    cluster: cluster!,
  });
  if (isUnavailable(fit)) throw new Error(fit.sentence);
  return fit;
}

const fit = simulated();
const FIRST = { onset: [1, 0], clearing: [1] };
const SECOND = { onset: [1, 1], clearing: [1] };

describe('the one-sided limit of a risk', () => {
  it('is the upper end of the two-sided interval that leaves as much above it', () => {
    const found = resetRisk(fit, SECOND, [REFERENCE], 0.9);
    const curve = standardisedResetRisk(
      { ...fit, confidence: 0.8 },
      { onset: Float64Array.from(SECOND.onset), clearing: Float64Array.of(1) },
      [REFERENCE],
    );
    if (isUnavailable(found) || isUnavailable(curve)) throw new Error('both must be told');
    expect(found.risk[0]).toBeCloseTo(curve.risk[0]!.estimate, 12);
    expect(found.upper[0]).toBeCloseTo(curve.risk[0]!.high, 9);
  });

  it('rises with the days and with the confidence, and lies above the risk', () => {
    const days = Array.from({ length: 70 }, (_, i) => i + 1);
    const [at80, at95] = [0.8, 0.95].map((confidence) => {
      const found = resetRisk(fit, FIRST, days, confidence);
      if (isUnavailable(found)) throw new Error(found.sentence);
      return found;
    });
    days.forEach((_, i) => {
      expect(at80!.upper[i]).toBeGreaterThan(at80!.risk[i]!);
      expect(at95!.upper[i]).toBeGreaterThan(at80!.upper[i]!);
      if (i > 0) expect(at80!.upper[i]).toBeGreaterThan(at80!.upper[i - 1]!);
    });
  });

  it('is typed for a group without onsets, and refuses a confidence of one half', () => {
    const bounded: ResetFit = { ...fit, limits: [{ parameter: 1, side: 'below', limit: -3 }] };
    expect(resetRisk(bounded, SECOND, [42], 0.8)).toMatchObject({ unavailable: 'no-events' });
    expect(isUnavailable(resetRisk(bounded, FIRST, [42], 0.8))).toBe(false);
    expect(() => resetRisk(fit, FIRST, [42], 0.5)).toThrow('confidence must lie between 0.5 and 1: 0.5');
  });
});

describe('onsets under several plans', () => {
  const points = [FIRST, SECOND];
  const plan = (cells: readonly (readonly [typeof FIRST, number])[]) => ({
    point: Int32Array.from(cells, ([point]) => points.indexOf(point)),
    time: Float64Array.from(cells, ([, time]) => time),
    weight: new Float64Array(cells.length).fill(1),
  });
  const both = (time: number) =>
    plan([
      [FIRST, time],
      [SECOND, time],
    ]);
  const plans = { points, scenarios: [both(42), both(70), plan([[FIRST, 42]])] };

  it('are averaged over the cells by weight, with their difference from one of them', () => {
    const found = onsetRates(fit, plans, 0);
    if (isUnavailable(found)) throw new Error(found.sentence);
    const alone = [FIRST, SECOND].map((point) => {
      const rate = onsetRates(fit, { points, scenarios: [plan([[point, 42]])] }, 0);
      if (isUnavailable(rate)) throw new Error(rate.sentence);
      return rate.rates[0]!.estimate;
    });
    expect(found.rates[0]!.estimate).toBeCloseTo((alone[0]! + alone[1]!) / 2, 12);
    expect(found.rates[2]!.estimate).toBeCloseTo(alone[0]!, 12);
    expect(found.weights).toEqual([2, 2, 1]);
    expect(found.differences[0]).toEqual({ estimate: 0, stdError: 0, low: 0, high: 0 });
    const [first, second] = [found.rates[0]!, found.rates[1]!];
    expect(found.differences[1]!.estimate).toBeCloseTo(second.estimate - first.estimate, 12);
    // The same feet at two intervals go up and down together: surer than two rates apart.
    expect(found.differences[1]!.stdError).toBeLessThan(Math.hypot(first.stdError!, second.stdError!));
    expect(first.low).toBeLessThan(first.estimate);
    expect(first.high).toBeGreaterThan(first.estimate);
  });

  it('leave out groups without events, and are typed where nothing is left', () => {
    const bounded: ResetFit = { ...fit, limits: [{ parameter: 1, side: 'below', limit: -3 }] };
    const found = onsetRates(bounded, { points, scenarios: [both(42)] }, 0);
    expect(isUnavailable(found) ? null : found.weights).toEqual([1]);
    const none = onsetRates(bounded, { points, scenarios: [plan([[SECOND, 42]])] }, 0);
    expect(none).toMatchObject({ unavailable: 'no-events' });
  });
});
