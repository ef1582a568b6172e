import { describe, expect, it } from 'vitest';
import { distinctIntervals, distinctWeights, supportOf } from '../../src/stats/interval-support.ts';
import { solveNpmle } from '../../src/stats/npmle-solver.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { type LimitTask, shareLimit } from '../../src/stats/turnbull-limits.ts';

const I = Number.POSITIVE_INFINITY;
const TAIL = 0.025;

function dataOf(pairs: readonly (readonly [number, number])[]) {
  return { left: Float64Array.from(pairs, (p) => p[0]), right: Float64Array.from(pairs, (p) => p[1]) };
}
const limitOf = (
  data: LimitTask['data'],
  clusterOf: Int32Array,
  at: number,
  side: LimitTask['side'],
  from: number,
  tail: number,
): number => shareLimit({ data, clusterOf, at, side, from, tail });
const alone = (n: number) => Int32Array.from({ length: n }, (_, i) => i);
const rows = (k: number, n: number) =>
  Array.from({ length: n }, (_, i) => (i < k ? ([0, 10] as const) : ([10, I] as const)));

describe('likelihood-ratio limits of a share', () => {
  it('are the exact binomial limits for none and for all of n', () => {
    const none = limitOf(dataOf(rows(0, 30)), alone(30), 10, 'high', 0, TAIL);
    expect(none).toBeCloseTo(1 - TAIL ** (1 / 30), 4);
    const all = limitOf(dataOf(rows(30, 30)), alone(30), 10, 'low', 1, TAIL);
    expect(all).toBeCloseTo(TAIL ** (1 / 30), 4);
  });

  it('solve the binomial likelihood ratio for 3 of 20', () => {
    const fall = (c: number) => 2 * (3 * Math.log(0.15 / c) + 17 * Math.log(0.85 / (1 - c)));
    for (const side of ['low', 'high'] as const) {
      const limit = limitOf(dataOf(rows(3, 20)), alone(20), 10, side, 0.15, TAIL);
      expect(fall(limit)).toBeCloseTo(-2 * Math.log(TAIL), 1);
      expect(Math.sign(limit - 0.15)).toBe(side === 'high' ? 1 : -1);
    }
  });

  it('count rows that repeat within a cluster once', () => {
    const single = rows(3, 20);
    const cluster = Int32Array.from({ length: 60 }, (_, i) => i % 20);
    const limit = (pairs: typeof single, ids: Int32Array) =>
      limitOf(dataOf(pairs), ids, 10, 'high', 0.15, TAIL);
    expect(limit([...single, ...single, ...single], cluster)).toBeCloseTo(limit(single, alone(20)), 3);
    expect(limit([...single, ...single, ...single], alone(60))).toBeLessThan(limit(single, alone(20)) - 0.05);
  });

  it('set no limit where no row reaches t', () => {
    expect(
      limitOf(
        dataOf([
          [0, 10],
          [10, I],
        ]),
        alone(2),
        50,
        'high',
        0.5,
        TAIL,
      ),
    ).toBe(1);
  });
});

describe('constrained maximum', () => {
  const random = seededRandom(8);
  const pairs = Array.from({ length: 40 }, () => {
    const l = random.integer(0, 9);
    return [l, random.uniform() < 0.3 ? I : l + random.integer(1, 6)] as const;
  });
  const distinct = distinctIntervals(dataOf(pairs));
  const support = supportOf(distinct, distinctWeights(distinct));
  const m = support.openAt.length;
  const logLikelihood = (mass: Float64Array) =>
    support.runWeight.reduce((sum, w, i) => {
      let p = 0;
      for (let j = support.first[i]!; j <= support.last[i]!; j += 1) p += mass[j]!;
      return sum + w * Math.log(p);
    }, 0);

  it.each([
    [1, 0.1],
    [3, 0.6],
    [m - 1, 0.35],
  ])('holds the first %i masses at %f and cannot be bettered within that', (split, share) => {
    const fit = solveNpmle(support, { tolerance: 1e-9, maxIterations: 5000 }, undefined, { split, share });
    expect(fit.converged).toBe(true);
    const sum = (masses: Float64Array) => masses.reduce((a, b) => a + b, 0);
    expect(sum(fit.mass.subarray(0, split))).toBeCloseTo(share, 9);
    expect(logLikelihood(fit.mass)).toBeCloseTo(fit.logLikelihood, 8);
    for (let trial = 0; trial < 300; trial += 1) {
      const towards = Float64Array.from({ length: m }, () => random.exponential());
      const before = sum(towards.subarray(0, split));
      const after = sum(towards.subarray(split));
      const step = 10 ** -random.integer(0, 5);
      const moved = fit.mass.map((mass, j) => {
        const target = j < split ? (towards[j]! * share) / before : (towards[j]! * (1 - share)) / after;
        return mass + step * (target - mass);
      });
      expect(logLikelihood(moved)).toBeLessThanOrEqual(fit.logLikelihood + 1e-7);
    }
  });
});
