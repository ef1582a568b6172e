import { describe, expect, it } from 'vitest';
import { isUnavailable } from '../../src/core/outcome.ts';
import { studentMultiplier } from '../../src/stats/distributions.ts';
import { ratioInterval } from '../../src/stats/ratio-interval.ts';

describe('ratio of two estimates', () => {
  it('has the ends at which a less r times b is just told from 0', () => {
    const [a, b] = [
      { estimate: 80, stdError: 2 },
      { estimate: 8, stdError: 0.5 },
    ];
    const found = ratioInterval(a, b, 9);
    if (isUnavailable(found)) throw new Error(found.sentence);
    expect(found.estimate).toBe(10);
    // Delta method: √(2² + 10²·.5²)/8 = √29/8.
    expect(found.stdError).toBeCloseTo(Math.sqrt(29) / 8, 12);
    for (const r of [found.low, found.high]) {
      const t = Math.abs(80 - r * 8) / Math.hypot(2, r * 0.5);
      expect(t).toBeCloseTo(studentMultiplier(9), 10);
    }
    expect(found.high - 10).toBeGreaterThan(10 - found.low);
  });

  it('is renewal by a published rate: 83.7 mm at 7 mm in 28 days take 11 mean months', () => {
    // Josseck et al. 1995, Equine Vet J 27:175–182: 7 mm per 28 days, wall renewed in 11 months. 83.7/.25 = 334.8 d.
    const found = ratioInterval({ estimate: 83.7, stdError: 0 }, { estimate: 7 / 28, stdError: 0 }, 10);
    if (isUnavailable(found)) throw new Error(found.sentence);
    expect(found.estimate).toBeCloseTo(334.8, 8);
    expect(found.estimate / 30.4375).toBeCloseTo(11, 2);
    expect([found.low, found.high]).toEqual([found.estimate, found.estimate]);
  });

  it('has no bound where b may be 0', () => {
    const found = ratioInterval({ estimate: 80, stdError: 2 }, { estimate: 1, stdError: 1 }, 9);
    expect(found).toMatchObject({ unavailable: 'no-overlap' });
    expect(ratioInterval({ estimate: 1, stdError: 0 }, { estimate: -1, stdError: 0 }, 9)).toMatchObject({
      unavailable: 'no-overlap',
    });
  });
});
