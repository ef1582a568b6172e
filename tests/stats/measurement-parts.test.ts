import { describe, expect, it } from 'vitest';
import { isUnavailable } from '../../src/core/outcome.ts';
import { clusteredSpread, median, robustSd } from '../../src/stats/clustered-spread.ts';
import { isMultiple, isSpreadOver, writtenSd, writtenStep } from '../../src/stats/digit-preference.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { rateVariances, withSecondReading } from '../../src/stats/second-reading.ts';

describe('clusteredSpread', () => {
  it('is the root of the mean square, its interval from the mean squares of clusters, by hand', () => {
    // Squares 1, 1, 9 and 9 in clusters of 1, 1 and 9, 9: mean square 5.
    const found = clusteredSpread(Float64Array.from([1, -1, 3, -3]), Int32Array.from([0, 0, 1, 1]), 1 / 2);
    if (isUnavailable(found)) throw new Error(found.sentence);
    expect(found.estimate).toBeCloseTo(Math.sqrt(2.5), 12);
    // Influences (2 − 10)/4 and (18 − 10)/4 = ∓2; variance 2/1 · 8 / … = G/(G−1) Σ(y_g − r z_g)²/n² = 2 · (64 + 64)/16 = 16.
    const logError = Math.sqrt(16) / 5 / 2;
    expect(found.stdError).toBeCloseTo(Math.sqrt(2.5) * logError, 12);
    expect(found.high / found.estimate).toBeCloseTo(Math.exp(12.7062047 * logError), 3);
  });

  it('says so where there is one cluster, or no spread', () => {
    expect(clusteredSpread(Float64Array.from([1, 2]), Int32Array.from([4, 4]))).toMatchObject({
      unavailable: 'one-cluster',
    });
    expect(isUnavailable(clusteredSpread(new Float64Array(4), Int32Array.from([0, 0, 1, 1])))).toBe(true);
  });
});

describe('robustSd', () => {
  it('takes the middle distance from the middle, so that one stray value does not matter', () => {
    // Middle 3; distances 2, 1, 0, 1, 997: middle 1.
    expect(robustSd(Float64Array.from([5, 1000, 3, 2, 4, 1, 3]))).toBeCloseTo(1.4826 * 1, 12);
    expect(median(Float64Array.from([4, 1, 3, 2]))).toBe(2.5);
  });
});

describe('writtenStep', () => {
  const steps = [5, 25.4 / 8, 1, 0.5];
  const written = (...value: number[]) => ({
    value: Float64Array.from(value),
    n: Float64Array.from(value, () => 1),
  });

  it('finds the coarsest step of which nearly all are multiples', () => {
    expect(writtenStep(written(85, 90, 75), steps)).toBe(5);
    expect(writtenStep(written(85, 91, 75), steps)).toBe(1);
    expect(writtenStep(written(85, 91.5, 75), steps)).toBe(0.5);
    // 3 3/8 in, 3 1/2 in, 2 7/8 in as they are stored.
    expect(writtenStep(written(85.725, 88.9, 73.025), steps)).toBe(25.4 / 8);
    expect(writtenStep(written(85.3, 88.9, 73.1), steps)).toBeNull();
    expect(writtenStep(written(), steps)).toBeNull();
  });

  it('forgives one odd value in twenty', () => {
    const many = { value: Float64Array.from([85, 86.3]), n: Float64Array.from([19, 1]) };
    expect(writtenStep(many, steps)).toBe(5);
    expect(writtenStep({ ...many, n: Float64Array.from([18, 1]) }, steps)).toBeNull();
  });

  it('knows multiples in spite of rounding, and the spread of counted values', () => {
    expect([isMultiple(85.725, 25.4 / 8), isMultiple(85.8, 25.4 / 8)]).toEqual([true, false]);
    expect(writtenSd({ value: Float64Array.from([0, 4]), n: Float64Array.from([3, 1]) })).toBeCloseTo(
      Math.sqrt(3),
      12,
    );
    expect([isSpreadOver(2.5, 5), isSpreadOver(2.4, 5)]).toEqual([true, false]);
  });

  it('is right that ends of widely spread normal values come evenly: 20.0 % at SD m/2, not so at m/5', () => {
    // Share of N(1, s²) rounded to 1 that falls on multiples of 5, summed over 4,000 periods.
    const share = (s: number): number => {
      let [on, all] = [0, 0];
      for (let k = -200; k <= 200; k++) {
        const density = Math.exp(-((k - 1) ** 2) / (2 * s * s));
        all += density;
        if (k % 5 === 0) on += density;
      }
      return on / all;
    };
    expect(Math.abs(share(2.5) / 0.2 - 1)).toBeLessThan(0.015);
    expect(Math.abs(share(1) / 0.2 - 1)).toBeGreaterThan(0.2);
  });
});

describe('what a second reading buys', () => {
  it('by hand: one foot, and two', () => {
    const v = { cluster: 4, unit: 1, residual: 6 };
    // S = 2: a foot tells 1/(1 + 6/2) = 1/4; 1/(1/4 + 1/4) = 2. Two feet: 1/(1/4 + 2/4) = 4/3.
    const [one, two, none] = rateVariances(
      Float64Array.from([2, 2, 2, 0]),
      Int32Array.from([0, 1, 1, 2]),
      3,
      v,
    );
    expect([one, two, none]).toEqual([2, expect.closeTo(4 / 3, 12), 4]);
    // Reading SD √3, so that two ends make the 6: read twice, 6 − 3 = 3; 1/(1 + 3/2) = 2/5; 1/(1/4 + 2/5) = 20/13.
    const twice = withSecondReading(v, Math.sqrt(3));
    expect(twice.residual).toBeCloseTo(3, 12);
    expect(rateVariances(Float64Array.from([2]), Int32Array.from([0]), 1, twice)[0]).toBeCloseTo(20 / 13, 12);
  });
});

describe('median', () => {
  it('is the middle of the values once sorted, however they come: with ties, ascending, descending, one or two', () => {
    const random = seededRandom(3);
    for (let n = 1; n <= 60; n += 1) {
      const drawn = Float64Array.from({ length: n }, () => Math.floor(12 * random.uniform()) - 4);
      const sorted = drawn.slice().sort();
      const middle = (sorted[(n - 1) >> 1]! + sorted[n >> 1]!) / 2;
      const given = drawn.slice();
      expect(median(given), `${drawn}`).toBe(middle);
      expect(given).toEqual(drawn);
      expect([median(sorted), median(sorted.slice().reverse())]).toEqual([middle, middle]);
    }
    expect(median(new Float64Array(0))).toBeNaN();
  });
});
