import { describe, expect, it } from 'vitest';
import { isUnavailable } from '../../src/core/outcome.ts';
import { fitBinary } from '../../src/stats/cloglog.ts';
import { fitOnsetSinceReset } from '../../src/stats/onset-since-reset.ts';
import { coefficient } from '../../src/stats/predictor-fit.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { resetProbabilities } from '../../src/stats/reset-kernel.ts';
import { riskContrast, standardisedResetRisk } from '../../src/stats/standardise.ts';
import type { TransitionData } from '../../src/stats/transition-data.ts';
import { fitTwoStateMarkov } from '../../src/stats/two-state-markov.ts';
import { errorsOf, expectAll, expectReason, value } from './expect-close.ts';
import { simulateTransitions, TRUTH, takeRows } from './simulate-transitions.ts';

const SMALL = { ...TRUTH, clusters: 40 };

function rowsWhere(data: TransitionData, keep: (row: number) => boolean): TransitionData {
  return takeRows(data, Array.from({ length: data.cluster.length }, (_, row) => row).filter(keep));
}

describe('fitOnsetSinceReset', () => {
  it('recovers the exponent where counting seen onsets only falls short', () => {
    // 12 herds from a true exponent of 1.6, with clearing 4 times a year.
    const exact: number[] = [];
    const seen: number[] = [];
    for (let herd = 0; herd < 12; herd += 1) {
      const data = simulateTransitions(seededRandom(1000 + herd));
      const fit = value(fitOnsetSinceReset(data));
      if (isUnavailable(fit.exponent)) throw new Error(fit.exponent.sentence);
      exact.push(fit.exponent.estimate);
      const clear = rowsWhere(data, (row) => data.start[row] === 0);
      const x = Float64Array.from(
        Array.from(clear.time, (t, i) => [1, clear.onset[2 * i + 1]!, Math.log(t / 42)]).flat(),
      );
      seen.push(
        value(fitBinary({ event: clear.end, x, terms: ['a', 'b', 'c'], cluster: clear.cluster })).theta[2]!,
      );
    }
    const mean = (values: number[]) => values.reduce((a, b) => a + b, 0) / values.length;
    const spread = Math.sqrt(mean(exact.map((e) => (e - mean(exact)) ** 2)) / 11);
    expect(Math.abs(mean(exact) - 1.6)).toBeLessThan(3.5 * spread);
    expect(spread).toBeLessThan(0.05);
    expect(mean(seen)).toBeLessThan(1.5);
    exact.forEach((e, i) => {
      expect(e).toBeGreaterThan(seen[i]!);
    });
  });

  it('with the exponent held at 1 is the two-state Markov model', () => {
    const data = simulateTransitions(seededRandom(3), SMALL);
    const reset = value(fitOnsetSinceReset(data, { exponent: 1, yearTime: 365.25 }));
    const years = Float64Array.from(data.time, (t) => t / 365.25);
    const markov = value(fitTwoStateMarkov({ ...data, time: years }));
    const [level, group, clearing] = reset.theta;
    expectAll([level! + Math.log(365.25 / 42), group!, clearing!], markov.theta, 1e-7);
    expect(reset.logLikelihood).toBeCloseTo(markov.logLikelihood, 6);
    expectAll(errorsOf(reset).slice(0, 3), errorsOf(markov), 1e-6);
    expectReason(reset.exponent, 'one-level');
  });

  it('finds no rise where onsets come at the trim itself, though the logarithm of the exponent then runs off', () => {
    for (const clusters of [150, 2000]) {
      const random = seededRandom(clusters);
      const n = clusters * 12;
      const time = Float64Array.from({ length: n }, () => 28 + 7 * random.integer(0, 5));
      const start = Uint8Array.from({ length: n }, () => (random.uniform() < 0.25 ? 1 : 0));
      const stays = (row: number) => Math.exp((-1.2 * time[row]!) / 365.25);
      const end = Uint8Array.from(start, (s, row) =>
        random.uniform() < (s === 1 ? stays(row) : 0.12) ? 1 : 0,
      );
      const ones = new Float64Array(n).fill(1);
      const data: TransitionData = {
        start,
        end,
        time,
        onset: ones,
        onsetTerms: ['clear'],
        clearing: ones,
        clearingTerms: ['clearing'],
        cluster: Int32Array.from({ length: n }, (_, row) => Math.floor(row / 12)),
      };
      const fit = value(fitOnsetSinceReset(data));
      if (isUnavailable(fit.exponent)) throw new Error(fit.exponent.sentence);
      // The truth is 0: the interval must reach near it, and close in on it as the record grows.
      expect(fit.exponent.low).toBeLessThan(0.4);
      expect(fit.exponent.high).toBeLessThan(clusters === 2000 ? 0.5 : 2.5);
      const curve = value(standardisedResetRisk(fit, { onset: ones, clearing: ones }, [28, 63]));
      const { ratio } = riskContrast(curve, 1, 0);
      if (clusters === 2000) expect(ratio.high).toBeLessThan(1.3);
    }
  });

  it('gives the same answer in weeks as in days', () => {
    const data = simulateTransitions(seededRandom(4), SMALL);
    const weeks = Float64Array.from(data.time, (t) => t / 7);
    const a = value(fitOnsetSinceReset(data));
    const b = value(fitOnsetSinceReset({ ...data, time: weeks }, { referenceTime: 6, yearTime: 365.25 / 7 }));
    expectAll(b.theta, a.theta, 1e-8);
    expectAll(b.covariance, a.covariance, 1e-6);
  });

  it('moves the level, not the exponent, with the reference interval', () => {
    const data = simulateTransitions(seededRandom(4), SMALL);
    const a = value(fitOnsetSinceReset(data));
    const b = value(fitOnsetSinceReset(data, { referenceTime: 56 }));
    const k = Math.exp(a.theta[3]!);
    expectAll(b.theta, [a.theta[0]! + k * Math.log(56 / 42), ...a.theta.subarray(1)], 1e-7);
  });

  it('does not care about the order of rows or the names of clusters', () => {
    const data = simulateTransitions(seededRandom(7), SMALL);
    const shuffled = takeRows(data, seededRandom(8).shuffle([...Array(800).keys()]));
    const renamed = { ...shuffled, cluster: Int32Array.from(shuffled.cluster, (g) => 1000 - 3 * g) };
    const a = value(fitOnsetSinceReset(data));
    const b = value(fitOnsetSinceReset(renamed));
    expectAll(b.theta, a.theta, 1e-9);
    expectAll(b.covariance, a.covariance, 1e-7);
  });

  it('halves the variance when every cluster comes twice under two names, and not when it only has its rows twice', () => {
    const data = simulateTransitions(seededRandom(9), SMALL);
    const rows = [...Array(800).keys()];
    const twice = takeRows(data, [...rows, ...rows]);
    const twoNames = { ...twice, cluster: Int32Array.from(twice.cluster, (g, i) => (i < 800 ? g : g + 40)) };
    const once = value(fitOnsetSinceReset(data));
    const apart = value(fitOnsetSinceReset(twoNames));
    const same = value(fitOnsetSinceReset(twice));
    expectAll(apart.theta, once.theta, 1e-8);
    // The factors are G/(G − 1): 40/39 and 80/79.
    expectAll(
      apart.covariance.map((v) => (2 * v * 79) / 80),
      once.covariance.map((v) => (v * 39) / 40),
      1e-6,
    );
    expectAll(same.covariance, once.covariance, 1e-6);
  });

  it('takes a weight as that many rows', () => {
    const data = simulateTransitions(seededRandom(10), SMALL);
    const weighted = value(fitOnsetSinceReset({ ...data, weight: new Float64Array(800).fill(3) }));
    const rows = [...Array(800).keys()];
    const repeated = value(fitOnsetSinceReset(takeRows(data, [...rows, ...rows, ...rows])));
    expectAll(weighted.theta, repeated.theta, 1e-9);
    expect(weighted.nRows).toBe(2400);
  });

  it('holds the exponent at 1, and says so, where all intervals are equal', () => {
    const data = simulateTransitions(seededRandom(11), { ...SMALL, days: [42] });
    const fit = value(fitOnsetSinceReset(data));
    expectReason(fit.exponent, 'equal-intervals');
    expect(coefficient(fit, 3)).toEqual({ kind: 'fixed', term: 'log exponent', value: 0 });
  });

  it('holds the exponent at 1, and says so, where the only onsets came after intervals of one length', () => {
    const data = simulateTransitions(seededRandom(11), { ...SMALL, days: [42] });
    const few = rowsWhere(data, (row) => row < 200);
    const time = Float64Array.from(few.time, (days, row) => (row === 0 ? days + 7 : days));
    const fit = value(fitOnsetSinceReset({ ...few, time, start: few.start }));
    expectReason(fit.exponent, 'no-overlap');
    expect(coefficient(fit, 3).kind).toBe('fixed');
  });

  it('gives a one-sided limit for a group without onsets, and leaves the rest as it would be without that group', () => {
    const data = simulateTransitions(seededRandom(12), SMALL);
    // Group 1 keeps only rows that stayed clear.
    const keep = rowsWhere(
      data,
      (row) => data.onset[2 * row + 1] === 0 || (data.start[row] === 0 && data.end[row] === 0),
    );
    const fit = value(fitOnsetSinceReset(keep, { covariance: 'model' }));
    const found = coefficient(fit, 1);
    if (found.kind !== 'limit') throw new Error('a limit was expected');
    expect(found.side).toBe('below');
    expect(found.limit).toBeLessThan(0);
    const alone = interceptOnly(rowsWhere(data, (row) => data.onset[2 * row + 1] === 0));
    const without = value(fitOnsetSinceReset(alone));
    expectAll([fit.theta[0]!, fit.theta[2]!, fit.theta[3]!], without.theta, 1e-6);
    // With the other parameters as they are, the group would be this quiet a little under 1 time in 20:
    // the profile lets the others give way.
    const at = resetProbabilitiesOf(fit.theta, found.limit);
    const quiet = sumOver(keep, (row) =>
      keep.onset[2 * row + 1] === 1 ? Math.log(1 - at(keep.time[row]!)) : 0,
    );
    expect(quiet).toBeLessThan(Math.log(0.05));
    expect(quiet).toBeGreaterThan(1.2 * Math.log(0.05));
  });

  it('gives a limit for a group without clearing', () => {
    const data = simulateTransitions(seededRandom(13), SMALL);
    const n = data.cluster.length;
    const clearing = Float64Array.from({ length: 2 * n }, (_, i) => (i % 2 === 0 ? 1 : data.onset[i]!));
    const both = { ...data, clearing, clearingTerms: ['clearing', 'clearing group'] };
    const keep = rowsWhere(both, (row) => data.onset[2 * row + 1] === 0 || data.end[row] === 1);
    const fit = value(fitOnsetSinceReset(keep));
    expect(coefficient(fit, 3)).toMatchObject({ kind: 'limit', term: 'clearing group', side: 'below' });
    expect(coefficient(fit, 4).kind).toBe('estimated');
  });

  it('says why where the data cannot answer', () => {
    const data = interceptOnly(simulateTransitions(seededRandom(14), SMALL));
    const part = (keep: (row: number) => boolean) => fitOnsetSinceReset(rowsWhere(data, keep));
    expectReason(
      part(() => false),
      'no-rows',
    );
    expectReason(
      part((row) => row === 0),
      'one-level',
    );
    expectReason(
      part((row) => data.start[row] === 0),
      'one-level',
    );
    expectReason(
      part((row) => !(data.start[row] === 0 && data.end[row] === 1)),
      'no-events',
    );
    expectReason(
      part((row) => !(data.start[row] === 1 && data.end[row] === 0)),
      'no-events',
    );
    expectReason(
      part((row) => data.start[row] === 1 || data.end[row] === 1),
      'all-events',
    );
    expectReason(fitOnsetSinceReset({ ...data, cluster: new Int32Array(800) }), 'one-cluster');
    const twice = { ...data, onset: new Float64Array(1600).fill(1), onsetTerms: ['a', 'b'] };
    expectReason(fitOnsetSinceReset(twice), 'collinear');
  });

  it('gives no comparison with a group that has no events', () => {
    const data = simulateTransitions(seededRandom(15), SMALL);
    // The intercept stands for group 0, from which all onsets are taken away.
    const keep = rowsWhere(data, (row) => data.onset[2 * row + 1] === 1 || data.end[row] === 0);
    expectReason(fitOnsetSinceReset(keep), 'no-overlap');
  });

  it('works for one cluster when rows are taken as independent', () => {
    const data = simulateTransitions(seededRandom(16), { ...SMALL, clusters: 1, looks: 400 });
    const fit = value(fitOnsetSinceReset(interceptOnly(data), { covariance: 'model' }));
    expect(fit.covarianceKind).toBe('model');
    const found = coefficient(fit, 0);
    if (found.kind !== 'estimated') throw new Error('an estimate was expected');
    expect((found.high - found.estimate) / found.stdError!).toBeCloseTo(1.959964, 6);
  });

  it('throws on an exponent that is not above 0', () => {
    const data = simulateTransitions(seededRandom(16), SMALL);
    expect(() => fitOnsetSinceReset(data, { exponent: 0 })).toThrow('exponent must be above 0: 0');
  });
});

function interceptOnly(data: TransitionData): TransitionData {
  return { ...data, onset: new Float64Array(data.cluster.length).fill(1), onsetTerms: ['intercept'] };
}

function sumOver(data: TransitionData, f: (row: number) => number): number {
  return Array.from(data.cluster, (_, row) => f(row)).reduce((a, b) => a + b, 0);
}

/** P01 by days at the fit's other parameters, with the group's effect at `group`. */
function resetProbabilitiesOf(theta: Float64Array, group: number): (days: number) => number {
  return (days) => resetProbabilities([theta[0]! + group, theta[2]!, theta[3]!], days, 42, 365.25).p01;
}
