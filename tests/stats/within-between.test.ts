import { describe, expect, it } from 'vitest';
import { isUnavailable } from '../../src/core/outcome.ts';
import { fitBinary } from '../../src/stats/cloglog.ts';
import { fitOnsetSinceReset } from '../../src/stats/onset-since-reset.ts';
import { seededRandom } from '../../src/stats/random.ts';
import type { TransitionData } from '../../src/stats/transition-data.ts';
import { splitWithinBetween } from '../../src/stats/within-between.ts';
import { expectAll, expectReason, value } from './expect-close.ts';
import { TRUTH, walk } from './simulate-transitions.ts';

/** Clusters that book late also have the higher hazard: 60 books at about 5 weeks, 60 at about 8. */
function confounded(seed: number): TransitionData {
  const random = seededRandom(seed);
  const start: number[] = [];
  const end: number[] = [];
  const time: number[] = [];
  const cluster: number[] = [];
  for (let g = 0; g < 120; g += 1) {
    const late = g % 2;
    let state = 0;
    for (let look = 0; look < 30; look += 1) {
      const days = random.pick(late ? [42, 49, 56, 63, 70] : [21, 28, 35, 42, 49]);
      const next = walk(random, state, days, Math.log(0.2) + 1.2 * late, TRUTH);
      start.push(state);
      end.push(next);
      time.push(days);
      cluster.push(g);
      state = next;
    }
  }
  return {
    start,
    end,
    time,
    onset: new Float64Array(start.length).fill(1),
    onsetTerms: ['level'],
    clearing: new Float64Array(start.length).fill(1),
    clearingTerms: ['clearing'],
    cluster,
  };
}

describe('splitWithinBetween', () => {
  it('takes each value against the mean of its own cluster: worked by hand', () => {
    const split = value(splitWithinBetween([1, 3, 5, 4, 4, 10], [7, 7, 7, -2, -2, 7], [1, 1, 1, 1, 1, 0]));
    expect([...split.between]).toEqual([3, 3, 3, 4, 4, 3]);
    expect([...split.within]).toEqual([-2, 0, 2, 0, 0, 7]);
    expect(split.nClusters).toBe(2);
    expect(split.nVarying).toBe(1);
  });

  it('does not care about row order or names', () => {
    const a = value(splitWithinBetween([0.1, 0.7, 0.4, 0.2], [1, 1, 2, 2]));
    const b = value(splitWithinBetween([0.2, 0.4, 0.7, 0.1], [90, 90, 5, 5]));
    expectAll(b.within, [...a.within].reverse(), 1e-12);
    expectAll(b.between, [...a.between].reverse(), 1e-12);
  });

  it('says why where nothing can be compared with itself', () => {
    expectReason(splitWithinBetween([], []), 'no-rows');
    expectReason(splitWithinBetween([1, 2], [1, 2], [0, 0]), 'no-rows');
    expectReason(splitWithinBetween([1, 2], [3, 3]), 'one-cluster');
    expectReason(splitWithinBetween([0.1, 0.1, 0.1, 5], [1, 1, 1, 2]), 'equal-intervals');
  });

  it('throws on values that are not finite', () => {
    expect(() => splitWithinBetween([1, Number.NaN], [1, 2])).toThrow('values must be finite: NaN in row 1');
  });
});

describe('exponent when the clusters that book late are the ones at risk', () => {
  const exponentOf = (data: TransitionData) => {
    const { exponent } = value(fitOnsetSinceReset(data));
    if (isUnavailable(exponent)) throw new Error(exponent.sentence);
    return exponent;
  };
  const data = confounded(77);
  const logTime = Array.from(data.time, (days) => Math.log(days / 42));
  const split = value(splitWithinBetween(logTime, data.cluster));

  it('exact form: crude is too steep, within clusters is the truth', () => {
    const crude = exponentOf(data);
    const onset = Float64Array.from(logTime.flatMap((_, row) => [1, split.between[row]!]));
    const within = exponentOf({ ...data, onset, onsetTerms: ['level', 'between'] });
    expect(crude.low).toBeGreaterThan(1.6 + 0.3);
    expect(within.low).toBeLessThan(1.6);
    expect(within.high).toBeGreaterThan(1.6);
    expect(within.stdError!).toBeLessThan(0.2);
  });

  it('binary regression: the coefficient within clusters lies well below the crude one', () => {
    const clear = logTime.flatMap((_, row) => (data.start[row] === 0 ? [row] : []));
    const fitRows = (columns: (row: number) => number[], terms: string[]) =>
      value(
        fitBinary({
          event: clear.map((row) => data.end[row]!),
          x: Float64Array.from(clear.flatMap(columns)),
          terms,
          cluster: clear.map((row) => data.cluster[row]!),
        }),
      ).theta;
    const crude = fitRows((row) => [1, logTime[row]!], ['level', 'log time']);
    const parts = fitRows(
      (row) => [1, split.between[row]!, split.within[row]!],
      ['level', 'between', 'within'],
    );
    expect(parts[2]! + 0.4).toBeLessThan(crude[1]!);
    expect(parts[1]!).toBeGreaterThan(crude[1]!);
  });
});
