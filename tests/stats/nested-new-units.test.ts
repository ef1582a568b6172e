import { describe, expect, it } from 'vitest';
import { isUnavailable } from '../../src/core/outcome.ts';
import { newClusterRate, newUnitRate } from '../../src/stats/nested-predict.ts';
import { fitNestedSlopes } from '../../src/stats/nested-slopes.ts';

/** Three clusters of two units of two rows over one unit of time: balanced, so that everything is plain sums. */
const UNITS = [
  [10, 10.4],
  [9, 9.4],
  [7, 7.4],
  [8, 7.6],
  [8.6, 9],
  [9.4, 9.8],
];
const X = Float64Array.of(1);

function balanced() {
  const fit = fitNestedSlopes({
    days: new Float64Array(12).fill(30),
    y: Float64Array.from(UNITS.flat()),
    x: new Float64Array(12).fill(1),
    cluster: Int32Array.from({ length: 12 }, (_, i) => Math.floor(i / 4)),
    unit: Int32Array.from({ length: 12 }, (_, i) => Math.floor(i / 2)),
  });
  if (isUnavailable(fit)) throw new Error(fit.sentence);
  return fit;
}

// Analysis of variance: unit means 10.2 9.2 | 7.2 7.8 | 8.8 9.6; cluster means 9.7 7.5 9.2; mean 8.8.
// Rows: each pair differs by .4, mean square .08. Units: 2(.5 + .18 + .32)/3 = 2/3. Clusters: 4(.81 + 1.69 + .16)/2 = 5.32.
const SIGMA = 0.08;
const PHI = (2 / 3 - SIGMA) / 2;
const TAU = (5.32 - 2 / 3) / 4;
/** Variance of the mean: that of a cluster's mean over three clusters, 5.32/4/3. */
const OF_MEAN = 5.32 / 12;

describe('a unit not seen before', () => {
  it('of a new cluster lies at the mean, with both spreads in full and the mean’s own error', () => {
    const told = newClusterRate(balanced(), X);
    expect(told.estimate).toBeCloseTo(8.8, 10);
    expect(told.stdError ** 2).toBeCloseTo(TAU + PHI + OF_MEAN, 5);
    expect(told.degrees).toBeGreaterThanOrEqual(1);
    expect(told.high - told.estimate).toBeCloseTo(told.estimate - told.low, 10);
  });

  it('of a known cluster lies at its cluster’s shrunk mean, with what is left of that spread and its own', () => {
    const kept = TAU / (5.32 / 4);
    const told = newUnitRate(balanced(), 1, X);
    expect(told.estimate).toBeCloseTo(8.8 + kept * (7.5 - 8.8), 5);
    expect(told.stdError ** 2).toBeCloseTo(TAU * (1 - kept) + PHI + (1 - kept) ** 2 * OF_MEAN, 5);
  });

  it('refuses a cluster that is not there, and covariates of another length', () => {
    expect(() => newUnitRate(balanced(), 3, X)).toThrow('cluster must be a place below 3: 3');
    expect(() => newClusterRate(balanced(), Float64Array.of(1, 0))).toThrow('x must hold 1 values: 2');
  });
});
