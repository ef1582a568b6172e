import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/stats/random.ts';
import type { TransitionData } from '../../src/stats/transition-data.ts';
import { fitTwoStateMarkov, markovSummary } from '../../src/stats/two-state-markov.ts';
import { errorsOf, expectAll, expectReason, value } from './expect-close.ts';
import { simulateTransitions, TRUTH, takeRows } from './simulate-transitions.ts';

/** One intercept for each direction; `moves` as start, end, time, count. */
function plain(moves: readonly (readonly [number, number, number, number])[], clusters = 4): TransitionData {
  const n = moves.length;
  return {
    start: moves.map((m) => m[0]),
    end: moves.map((m) => m[1]),
    time: moves.map((m) => m[2]),
    weight: moves.map((m) => m[3]),
    onset: new Float64Array(n).fill(1),
    onsetTerms: ['onset'],
    clearing: new Float64Array(n).fill(1),
    clearingTerms: ['clearing'],
    cluster: moves.map((_, i) => i % clusters),
  };
}

const EQUAL = [
  [0, 0, 1, 70],
  [0, 1, 1, 30],
  [1, 0, 1, 20],
  [1, 1, 1, 30],
] as const;

describe('fitTwoStateMarkov', () => {
  it('gives the closed form for equally spaced looks', () => {
    // From P01 = .3, P10 = .4: total rate −log(1 − .7), shared out 3 : 4.
    const fit = value(fitTwoStateMarkov(plain(EQUAL), { covariance: 'model' }));
    const total = -Math.log(0.3);
    expectAll(fit.theta.map(Math.exp), [(total * 0.3) / 0.7, (total * 0.4) / 0.7], 1e-9);
    expectAll(fit.theta.map(Math.exp), [0.51598835, 0.68798446], 2e-8);
    expect(-2 * fit.logLikelihood).toBeCloseTo(189.474027, 5);
  });

  it('agrees with R msm 1.7 on heart transplant data (cav, first 60 patients)', () => {
    const cav = JSON.parse(readFileSync(new URL('../reference/msm-cav.json', import.meta.url), 'utf8'));
    const { PTNUM, years, st } = cav.data as { PTNUM: number[]; years: number[]; st: number[] };
    const rows = PTNUM.flatMap((id, i) => (PTNUM[i + 1] === id ? [i] : []));
    const n = rows.length;
    const fit = value(
      fitTwoStateMarkov(
        {
          start: rows.map((i) => st[i]! - 1),
          end: rows.map((i) => st[i + 1]! - 1),
          time: rows.map((i) => years[i + 1]! - years[i]!),
          onset: new Float64Array(n).fill(1),
          onsetTerms: ['onset'],
          clearing: new Float64Array(n).fill(1),
          clearingTerms: ['clearing'],
          cluster: rows.map((i) => PTNUM[i]!),
        },
        { covariance: 'model' },
      ),
    );
    const summary = value(markovSummary(fit, [1], [1]));
    expect(-2 * fit.logLikelihood).toBeCloseTo(cav.values.minus2loglik, 6);
    // msm stops on the change of the log-likelihood: its rates are good to about 5 digits.
    expectAll(
      [summary.onsetRate.estimate, summary.clearingRate.estimate],
      [cav.values.q['State 1'][1], cav.values.q['State 2'][0]],
      2e-5,
    );
    expectAll(
      [summary.onsetRate.stdError!, summary.clearingRate.stdError!],
      [cav.values.se['State 1'][1], cav.values.se['State 2'][0]],
      1e-4,
    );
  });

  it('gives mean spell and long-run share with delta intervals: worked by hand', () => {
    const fit = value(fitTwoStateMarkov(plain(EQUAL), { covariance: 'model' }));
    const { meanSpell, longRunShare, onsetRate } = value(markovSummary(fit, [1], [1]));
    expect(meanSpell.estimate).toBeCloseTo(1 / 0.68798446, 6);
    // With equal spacing the share is P01/(P01 + P10) = 3/7. Its variance follows from the two binomials:
    // d/dP01 = P10/.49, d/dP10 = −P01/.49, variances .3·.7/100 and .4·.6/50.
    expect(longRunShare.estimate).toBeCloseTo(3 / 7, 9);
    const error = Math.sqrt((0.4 / 0.49) ** 2 * 0.0021 + (0.3 / 0.49) ** 2 * 0.0048);
    expect(longRunShare.stdError).toBeCloseTo(error, 7);
    const logit = Math.log(3 / 4) - 1.959963985 * (error / ((3 / 7) * (4 / 7)));
    expect(longRunShare.low).toBeCloseTo(1 / (1 + Math.exp(-logit)), 7);
    expect(onsetRate.low).toBeLessThan(onsetRate.estimate);
  });

  it('finds the truth when it generates the data', () => {
    const truth = { ...TRUTH, exponent: 1, clusters: 300 };
    const data = simulateTransitions(seededRandom(41), truth);
    const years = Float64Array.from(data.time, (days) => days / 365.25);
    const fit = value(fitTwoStateMarkov({ ...data, time: years }));
    const expected = [Math.log((0.25 * 365.25) / 42), 0.5, Math.log(4)];
    errorsOf(fit).forEach((error, j) => {
      expect(Math.abs(fit.theta[j]! - expected[j]!)).toBeLessThan(3.5 * error);
      expect(error).toBeLessThan(0.08);
    });
  });

  it('does not care about the order of rows or the names of clusters', () => {
    const data = simulateTransitions(seededRandom(5), { ...TRUTH, clusters: 30 });
    const shuffled = takeRows(data, seededRandom(6).shuffle([...Array(600).keys()]));
    const renamed = { ...shuffled, cluster: Int32Array.from(shuffled.cluster, (g) => 7 - 13 * g) };
    const a = value(fitTwoStateMarkov(data));
    const b = value(fitTwoStateMarkov(renamed));
    expectAll(b.theta, a.theta, 1e-9);
    expectAll(b.covariance, a.covariance, 1e-8);
  });

  it('scales rates with the unit of time and nothing else', () => {
    const data = simulateTransitions(seededRandom(5), { ...TRUTH, clusters: 30 });
    const days = value(fitTwoStateMarkov(data));
    const weeks = value(fitTwoStateMarkov({ ...data, time: Float64Array.from(data.time, (t) => t / 7) }));
    expectAll(
      weeks.theta,
      [days.theta[0]! + Math.log(7), days.theta[1]!, days.theta[2]! + Math.log(7)],
      1e-8,
    );
    expectAll(errorsOf(weeks), errorsOf(days), 1e-8);
  });

  it('says why where the data cannot answer', () => {
    expectReason(fitTwoStateMarkov(plain([])), 'no-rows');
    expectReason(
      fitTwoStateMarkov(
        plain([
          [0, 0, 1, 5],
          [1, 0, 1, 2],
        ]),
      ),
      'no-events',
    );
    expectReason(
      fitTwoStateMarkov(
        plain([
          [0, 1, 1, 5],
          [1, 1, 1, 2],
        ]),
      ),
      'no-events',
    );
    expectReason(
      fitTwoStateMarkov(
        plain([
          [0, 1, 1, 5],
          [0, 0, 1, 2],
        ]),
      ),
      'one-level',
    );
    expectReason(fitTwoStateMarkov(plain([[0, 1, 1, 1]])), 'one-level');
    expectReason(fitTwoStateMarkov(plain(EQUAL, 1)), 'one-cluster');
    const twice = { ...plain(EQUAL), onset: new Float64Array(8).fill(1), onsetTerms: ['a', 'b'] };
    expectReason(fitTwoStateMarkov(twice), 'collinear');
  });

  it('does not invent rates where moves are more frequent than any rate allows', () => {
    // P01 + P10 ≥ 1 needs an infinite total rate.
    const wild = plain([
      [0, 0, 1, 10],
      [0, 1, 1, 90],
      [1, 0, 1, 90],
      [1, 1, 1, 10],
    ]);
    const fit = fitTwoStateMarkov(wild, { covariance: 'model' });
    expect('unavailable' in fit && fit.sentence.length > 20).toBe(true);
  });

  it('throws on what is no transition', () => {
    expect(() => fitTwoStateMarkov(plain([[2, 0, 1, 1]]))).toThrow('state must be 0 or 1: 2 in row 0');
    expect(() => fitTwoStateMarkov(plain([[0, 0, 0, 1]]))).toThrow('time must be above 0: 0 in row 0');
    expect(() => fitTwoStateMarkov(plain([[0, 0, Number.NaN, 1]]))).toThrow(
      'time must be above 0: NaN in row 0',
    );
  });
});
