import { describe, expect, it } from 'vitest';
import { isUnavailable } from '../../src/core/outcome.ts';
import { fitOnsetSinceReset, type ResetFit } from '../../src/stats/onset-since-reset.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { compareVisits, type SteadyMeasure } from '../../src/stats/steady-visits.ts';
import { value } from './expect-close.ts';

/** Units seen at 28 and 56 days, onset at a steady rate and clearing at another: the exponent is then 1. */
function fitted(): ResetFit {
  const random = seededRandom(4);
  const [rate, clearing] = [0.9, 2];
  const chance = (from: 0 | 1, years: number): number => {
    const fade = Math.exp(-(rate + clearing) * years);
    const steady = rate / (rate + clearing);
    return from === 1 ? steady + (1 - steady) * fade : steady * (1 - fade);
  };
  const rows = Array.from({ length: 1200 }, (_, i) => {
    const start: 0 | 1 = random.uniform() < 0.3 ? 1 : 0;
    const days = i % 2 === 0 ? 28 : 56;
    return { start, days, end: random.uniform() < chance(start, days / 365.25) ? 1 : 0, cluster: i % 60 };
  });
  const ones = new Float64Array(rows.length).fill(1);
  return value(
    fitOnsetSinceReset({
      start: rows.map((row) => row.start),
      end: rows.map((row) => row.end),
      time: rows.map((row) => row.days),
      onset: ones,
      onsetTerms: ['level'],
      clearing: ones,
      clearingTerms: ['clearing'],
      cluster: rows.map((row) => row.cluster),
    }),
  );
}

const fit = fitted();
const one = { onset: Float64Array.of(1), clearing: Float64Array.of(1) };

describe('visits at one interval and at another', () => {
  it('are the closed form of a two-state chain where the exponent is 1', () => {
    const plain: ResetFit = { ...fit, theta: Float64Array.of(Math.log((0.9 * 42) / 365.25), Math.log(2), 0) };
    const { now, planned, change } = value(compareVisits(plain, one, 56, 28));
    // Leaving at .9 and returning at 2 a year: .9/2.9 are affected however often one looks.
    expect(now.affected.estimate).toBeCloseTo(0.9 / 2.9, 7);
    expect(planned.affected.estimate).toBeCloseTo(0.9 / 2.9, 7);
    const risk = (days: number) => (0.9 / 2.9) * (1 - Math.exp((-2.9 * days) / 365.25));
    expect(now.risk.estimate).toBeCloseTo(risk(56), 7);
    expect(now.perYear.estimate).toBeCloseTo((365.25 / 56) * (2 / 2.9) * risk(56), 6);
    expect(change.perYear.estimate).toBeCloseTo(
      (2 / 2.9) * ((365.25 / 28) * risk(28) - (365.25 / 56) * risk(56)),
      6,
    );
  });

  it('have the errors that differences of the figures themselves give', () => {
    const { now, change } = value(compareVisits(fit, one, 56, 28));
    const q = fit.theta.length;
    const at = (j: number, step: number, measure: SteadyMeasure, of: 'now' | 'change'): number => {
      const theta = fit.theta.slice();
      theta[j]! += step;
      return value(compareVisits({ ...fit, theta }, one, 56, 28))[of][measure].estimate;
    };
    for (const [of, shown] of [
      ['now', now],
      ['change', change],
    ] as const) {
      for (const measure of ['risk', 'affected', 'perYear'] as const) {
        const slope = Array.from(
          { length: q },
          (_, j) => (at(j, 1e-4, measure, of) - at(j, -1e-4, measure, of)) / 2e-4,
        );
        let variance = 0;
        for (let i = 0; i < q; i += 1)
          for (let j = 0; j < q; j += 1) variance += slope[i]! * slope[j]! * fit.covariance[i * q + j]!;
        expect(shown[measure].stdError! / Math.sqrt(variance)).toBeCloseTo(1, 4);
      }
    }
  });

  it('are nothing but alike where the interval stays', () => {
    const { change } = value(compareVisits(fit, one, 42, 42));
    for (const { estimate, low, high } of Object.values(change))
      expect([estimate, low, high]).toEqual([0, 0, 0]);
  });

  it('leave out feet of a group without onsets, and say how many', () => {
    const limited: ResetFit = { ...fit, limits: [{ parameter: 0, side: 'below', limit: -9 }] };
    const mix = { onset: Float64Array.of(1, 0, 0), clearing: Float64Array.of(1, 1, 1) };
    expect(value(compareVisits(limited, mix, 42, 28)).shareLeftOut).toBeCloseTo(1 / 3, 12);
    expect(isUnavailable(compareVisits(limited, one, 42, 28))).toBe(true);
  });
});
