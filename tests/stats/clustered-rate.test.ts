import { describe, expect, it } from 'vitest';
import { isUnavailable } from '../../src/core/outcome.ts';
import { type ClusteredRate, clusteredRate } from '../../src/stats/clustered-rate.ts';

function rate(amount: number[], exposure: number[], cluster: number[]): ClusteredRate {
  const found = clusteredRate(
    Float64Array.from(amount),
    Float64Array.from(exposure),
    Int32Array.from(cluster),
  );
  if (isUnavailable(found)) throw new Error(found.sentence);
  return found;
}

describe('clusteredRate', () => {
  it('is the ratio of sums, judged by how clusters lie about it (worked by hand)', () => {
    // 15/5 = 3; clusters lie −1 and +1 off; variance 2/1 · 2 / 25.
    const found = rate([2, 3, 10], [1, 1, 3], [7, 7, 4]);
    expect(found.estimate).toBe(3);
    expect(found.stdError).toBeCloseTo(Math.sqrt(4 / 25), 12);
    expect(found.high - found.estimate).toBeCloseTo(12.706205 * 0.4, 5);
    expect(found).toMatchObject({ nRows: 3, nClusters: 2 });
  });

  it('agrees with a ratio of survey totals (R 4.2.2, survey 4.1-1, svyratio)', () => {
    const found = rate(
      [4.1, 3.9, 8.2, 7.5, 2.2, 6.4, 5.1, 9.7, 3.3, 4.8],
      [1.0, 1.2, 2.1, 1.9, 0.7, 1.6, 1.1, 2.4, 0.9, 1.3],
      [1, 1, 2, 2, 3, 3, 4, 4, 5, 5],
    );
    expect(found.estimate).toBeCloseTo(3.887323943662, 10);
    expect(found.stdError).toBeCloseTo(0.1134063049, 10);
  });

  it('adds up: rates of two amounts over one exposure sum to the rate of their sum', () => {
    const z = [1, 2, 1.5, 0.5];
    const ids = [1, 1, 2, 3];
    const [a, b] = [
      [3, 5, 2, 1],
      [1, 0.5, 0.25, 2],
    ];
    const together = rate(
      a!.map((value, i) => value + b![i]!),
      z,
      ids,
    ).estimate;
    expect(rate(a!, z, ids).estimate + rate(b!, z, ids).estimate).toBeCloseTo(together, 12);
  });

  it('does not depend on the order of rows', () => {
    const given = rate([2, 3, 10, 4], [1, 1, 3, 2], [7, 7, 4, 5]);
    const turned = rate([4, 10, 3, 2], [2, 3, 1, 1], [5, 4, 7, 7]);
    expect(turned.estimate).toBeCloseTo(given.estimate, 12);
    expect(turned.stdError).toBeCloseTo(given.stdError!, 12);
  });

  it('refuses what shows no spread, and throws on what is no data', () => {
    const of = (y: number[], z: number[], ids: number[]) =>
      clusteredRate(Float64Array.from(y), Float64Array.from(z), Int32Array.from(ids));
    expect(of([], [], [])).toMatchObject({ unavailable: 'no-rows' });
    expect(of([1, 2], [1, 1], [3, 3])).toMatchObject({ unavailable: 'one-cluster' });
    expect(of([2, 4], [1, 2], [1, 2])).toMatchObject({ unavailable: 'one-level' });
    expect(() => of([1], [1, 2], [1])).toThrow('exposure must hold 1 values: 2');
    expect(() => of([Number.NaN], [1], [1])).toThrow('amount must be finite: NaN at 0');
  });
});
