import { describe, expect, it } from 'vitest';
import { isUnavailable } from '../../src/core/outcome.ts';
import { studentCdf } from '../../src/stats/distributions.ts';
import { gainsPast } from '../../src/stats/gains-past.ts';

/** Two clusters of two units: 0.2 and 0.3 a day, each with a spread of 0.02 a day on 5 degrees of freedom. */
const UNITS = {
  rate: Float64Array.of(0.2, 0.2, 0.3, 0.3),
  sd: new Float64Array(4).fill(0.02),
  degrees: new Float64Array(4).fill(5),
  cluster: Int32Array.of(0, 0, 1, 1),
};
const plan = (days: number, shifts: readonly number[]) => ({
  time: new Float64Array(4).fill(days),
  shifts: new Map([[days, shifts]]),
});
const estimates = (...given: Parameters<typeof gainsPast>) => {
  const { mean, share } = gainsPast(...given);
  if (isUnavailable(mean) || isUnavailable(share)) throw new Error('both can be told');
  return { mean, share };
};

describe('gains past a limit', () => {
  it('are those of a case worked by hand', () => {
    // After 40 days 8 and 12, each with a spread of 0.8: the limit of 10 lies 2.5 spreads above and below.
    const { mean, share } = estimates(UNITS, plan(40, [0]), 10);
    expect(mean.estimate).toBeCloseTo(10, 12);
    expect(share.estimate).toBeCloseTo((studentCdf(-2.5, 5) + studentCdf(2.5, 5)) / 2, 12);
  });

  it('are a mean over the starts', () => {
    const { mean, share } = estimates(UNITS, plan(40, [-0.05, 0.05]), 10);
    expect(mean.estimate).toBeCloseTo(10, 12);
    // At 6, 10, 10 and 14: two at the limit, two 5 spreads from it.
    expect(share.estimate).toBeCloseTo((studentCdf(-5, 5) + 0.5 + 0.5 + studentCdf(5, 5)) / 4, 12);
  });

  it('keep the interval of a share within 0 and 1', () => {
    const { share } = estimates(UNITS, plan(40, [0]), 11.9);
    expect(share.low).toBeGreaterThan(0);
    expect(share.high).toBeLessThan(1);
    expect(share.low).toBeLessThan(share.estimate);
    expect(share.high).toBeGreaterThan(share.estimate);
  });

  it('are typed where one cluster is all there is, and want shifts for each time', () => {
    const alone = { ...UNITS, cluster: new Int32Array(4) };
    expect(gainsPast(alone, plan(40, [0]), 10)).toMatchObject({
      mean: { unavailable: 'one-cluster' },
      share: { unavailable: 'one-cluster' },
    });
    expect(() => gainsPast(UNITS, { ...plan(40, [0]), shifts: new Map() }, 10)).toThrow(
      'shifts must hold each time: 40',
    );
  });
});
