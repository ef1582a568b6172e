import { describe, expect, it } from 'vitest';
import { horseYears, yearDispersion, yearsRatio } from '../../src/analyses/case-trends/horse-years.ts';
import { monthSums } from '../../src/analyses/case-trends/monthly.ts';
import { monthsBetween } from '../../src/analyses/case-trends/months.ts';
import { seededRandom } from '../../src/stats/random.ts';

const year = (cases: number[], days: number[] = cases.map(() => 100), level = cases.map(() => 0)) => ({
  horse: Int32Array.from(cases.keys()),
  level: Int32Array.from(level),
  cases: Float64Array.from(cases),
  days: Float64Array.from(days),
});

/** Horses of four feet seen every six weeks for three years, log-normally apart by `spread` on the log scale. */
function looksOf(horses: number, spread: number, seed: number) {
  const random = seededRandom(seed);
  const rows: number[][] = [];
  for (let horse = 0; horse < horses; horse += 1) {
    const hazard = 0.06 * Math.exp(random.normal(0, spread));
    for (let foot = 0; foot < 4; foot += 1) {
      let state = 0;
      for (let day = 19000 + random.integer(0, 41); day + 42 < 19000 + 3 * 365; day += 42) {
        const before = state;
        state = random.uniform() < (before === 1 ? 0.4 : -Math.expm1(-hazard)) ? 1 : 0;
        rows.push([day, day + 42, before, state, horse, 4 * horse + foot]);
      }
    }
  }
  const at = (k: number): number[] => rows.map((row) => row[k]!);
  return {
    from: Float64Array.from(at(0)),
    to: Float64Array.from(at(1)),
    before: Uint8Array.from(at(2)),
    after: Uint8Array.from(at(3)),
    horse: Int32Array.from(at(4)),
    foot: Int32Array.from(at(5)),
    horses,
    levels: ['all'],
    level: new Int32Array(rows.length),
    tooLong: 0,
  };
}

describe('new cases of a year, horses as clusters', () => {
  it('is worth fewer cases where they fall on few horses, by hand', () => {
    // 8 cases, 2 expected of each of four: 4² + 2² + 2² + 0² = 24, over 8, times 4/3.
    expect(yearDispersion([year([6, 0, 0, 2])])).toBeCloseTo(4, 12);
    // Of two levels each is set against its own rate: (1 + 1 + 0 + 0)/8 · 4/2 is under 1, which counts as 1.
    expect(yearDispersion([year([4, 2, 1, 1], undefined, [0, 0, 1, 1])])).toBe(1);
    // A horse with half the days should have half the cases.
    expect(yearDispersion([year([8, 4, 0], [100, 50, 50])])).toBeCloseTo(
      ((2 ** 2 + 1 + 3 ** 2) / 12) * 1.5,
      12,
    );
  });

  it('sets the two years of a horse against each other, by hand', () => {
    // The same horses are prone in both years, in proportion: nothing but the counts is left, 1/8 + 1/4.
    const alike = yearsRatio(year([6, 0, 2]), year([3, 0, 1]), 1)!;
    expect(alike.estimate).toBeCloseTo(2, 12);
    expect(alike.stdError! / 2).toBeCloseTo(Math.sqrt(1 / 8 + 1 / 4), 12);
    // Student's t on 2 degrees of freedom: 4.302653.
    expect(Math.log(alike.high / 2)).toBeCloseTo(4.302653 * Math.sqrt(0.375), 5);
    // Others are in the second: 5/12 + 4/12, −4/12 − 8/12, −1/12 + 4/12; their squares times 3/2.
    const others = yearsRatio(year([6, 0, 2]), year([0, 4, 0]), 1)!;
    expect(others.stdError! / 2).toBeCloseTo(Math.sqrt(1.5 * (0.75 ** 2 + 1 + 0.25 ** 2)), 12);
    expect(yearsRatio(year([1, 0]), year([0, 0]), 1)).toBeNull();
  });

  it('adds up to the months, and finds prone horses that no single month shows', () => {
    const looks = looksOf(60, 1, 3);
    const months = monthsBetween(Math.min(...looks.from), Math.max(...looks.to));
    const span = { first: 12, end: 24 };
    const sums = monthSums(looks, months);
    const total = (values: Float64Array): number => values.reduce((sum, value) => sum + value, 0);
    const spread = horseYears(looks, months, span, { dating: 'spread' });
    expect(total(spread.cases)).toBeCloseTo(total(sums.spread.subarray(12, 24)), 8);
    expect(total(spread.days)).toBeCloseTo(total(sums.clearDays.subarray(12, 24)), 6);
    const byVisit = horseYears(looks, months, span, { dating: 'visit' });
    expect(total(byVisit.cases)).toBe(total(sums.byVisit.subarray(12, 24)));
    expect(yearDispersion([spread])).toBeGreaterThan(1.5);
    expect(yearDispersion([horseYears(looksOf(60, 0, 3), months, span, { dating: 'spread' })])).toBeLessThan(
      1.5,
    );
  });
});
