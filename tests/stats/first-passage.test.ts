import { describe, expect, it } from 'vitest';
import { studentQuantile } from '../../src/stats/distributions.ts';
import { chancePassed, firstPassage, type Progress } from '../../src/stats/first-passage.ts';

/** Rate 8 per 30 with error 1 per 30, four degrees of freedom. */
const steady = (time: number): Progress => ({ mean: (8 * time) / 30, sd: time / 30, degrees: 4 });

describe('time to cover a distance', () => {
  it('is distance over rate, its ends distance over the ends of the rate', () => {
    // t(4) = 2.776445: 24/8 = 3 months of 30; 24/(8 ± 2.776445).
    const found = firstPassage(steady, 24, 1000)!;
    expect(found.estimate).toBeCloseTo(90, 2);
    expect(found.low).toBeCloseTo((24 / 10.776445) * 30, 2);
    expect(found.high).toBeCloseTo((24 / 5.223555) * 30, 2);
    expect(found.high! - 90).toBeGreaterThan(90 - found.low);
  });

  it('starts at once where the distance lies within the error of its reading, never before', () => {
    const unsure = (time: number): Progress => ({ mean: time, sd: 2, degrees: 1e6 });
    // 1.96 · 2 = 3.92: at a distance of 3 the upper edge is there at once, the lower one at 6.92.
    const found = firstPassage(unsure, 3, 100)!;
    expect(found.low).toBe(0);
    expect(found.estimate).toBeCloseTo(3, 2);
    expect(found.high).toBeCloseTo(6.92, 2);
  });

  it('leaves the late end open where the lower edge never gets there, and says nothing where nothing does', () => {
    const poor = (time: number): Progress => ({ mean: time, sd: time, degrees: 10 });
    expect(firstPassage(poor, 10, 100)).toMatchObject({ high: null });
    expect(firstPassage(() => ({ mean: 0, sd: 0.1, degrees: 10 }), 10, 100)).toBeNull();
    expect(firstPassage(steady, 0, 100)).toEqual({ low: 0, estimate: 0, high: 0 });
  });

  it('finds a lower edge that comes near and turns back', () => {
    // Up to a time of 50 the lower edge is .777 of it; from there on it falls.
    const turning = (time: number): Progress => ({
      mean: Math.min(time, 50),
      sd: time < 50 ? 0.1 * time : time - 45,
      degrees: 10,
    });
    const late = firstPassage(turning, 30, 100)!.high!;
    expect(late).toBeCloseTo(30 / (1 - 0.1 * studentQuantile(0.975, 10)), 2);
  });

  it('agrees with the chance of having come so far', () => {
    const found = firstPassage(steady, 24, 1000)!;
    expect(chancePassed(steady(found.low), 24)).toBeCloseTo(0.025, 4);
    expect(chancePassed(steady(found.estimate!), 24)).toBeCloseTo(0.5, 4);
    expect(chancePassed(steady(found.high!), 24)).toBeCloseTo(0.975, 4);
    expect(chancePassed({ mean: 3, sd: 0, degrees: 1 }, 3)).toBe(1);
    expect(chancePassed({ mean: 2, sd: 0, degrees: 1 }, 3)).toBe(0);
  });

  it('refuses a distance below 0', () => {
    expect(() => firstPassage(steady, -1, 100)).toThrow('distance must not be negative: -1');
    expect(() => firstPassage(steady, 1, 0)).toThrow('limit must be positive: 0');
  });
});
