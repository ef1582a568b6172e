import { describe, expect, it } from 'vitest';
import { factorSpd } from '../../src/stats/linear-algebra.ts';
import { cornerRatios } from '../../src/stats/nested-corner.ts';
import { evaluateNested } from '../../src/stats/nested-evaluate.ts';
import { heldCriterion, momentRatios } from '../../src/stats/nested-held.ts';
import { newtonRatios } from '../../src/stats/nested-newton.ts';
import { searchRatios } from '../../src/stats/nested-search.ts';
import { criterionSlope, evaluateSloped } from '../../src/stats/nested-sloped.ts';
import { type NestedSlopesData, type NestedSums, nestedSums, rateSums } from '../../src/stats/nested-sums.ts';
import { numericGradient } from '../../src/stats/optimise.ts';
import { seededRandom } from '../../src/stats/random.ts';

/** Clusters of four units of three to six rows, residual sd 1, of which units have different lengths of time. */
function herd(clusters: number, clusterSd: number, unitSd: number, seed = 11): NestedSlopesData {
  const random = seededRandom(seed);
  const rows: { days: number; y: number; x: number[]; cluster: number; unit: number }[] = [];
  for (let cluster = 0; cluster < clusters; cluster++) {
    const horse = random.normal(0, clusterSd);
    for (let foot = 0; foot < 4; foot++) {
      const rate = 8 + (cluster % 3) + horse + random.normal(0, unitSd);
      for (let k = random.integer(3, 6); k > 0; k--) {
        const days = random.integer(25, 80);
        const x = [0, 1, 2].map((level) => (cluster % 3 === level ? 1 : 0));
        rows.push({ days, y: (days / 30) * rate + random.normal(), x, cluster, unit: 4 * cluster + foot });
      }
    }
  }
  return {
    days: Float64Array.from(rows, (row) => row.days),
    y: Float64Array.from(rows, (row) => row.y),
    x: Float64Array.from(rows.flatMap((row) => row.x)),
    cluster: Int32Array.from(rows, (row) => row.cluster),
    unit: Int32Array.from(rows, (row) => row.unit),
  };
}

function sumsOf(data: NestedSlopesData): NestedSums {
  const crude = rateSums(data, 3);
  return nestedSums(data, crude, factorSpd(crude.xx, 3)!);
}

describe('the criterion with β held', () => {
  it('has the slope and the curvature that differences show', () => {
    const sums = sumsOf(herd(30, 0.8, 0.4));
    const at = Float64Array.of(0.5, 0.2);
    const { gradient, curvature } = heldCriterion(sums, at[0]!, at[1]!);
    const slope = numericGradient((l) => heldCriterion(sums, l[0]!, l[1]!).value, at, 1e-4);
    gradient.forEach((value, i) => {
      expect(Math.abs(value / slope[i]! - 1)).toBeLessThan(1e-6);
    });
    const first = numericGradient((l) => heldCriterion(sums, l[0]!, l[1]!).gradient[0], at, 1e-4);
    const second = numericGradient((l) => heldCriterion(sums, l[0]!, l[1]!).gradient[1], at, 1e-4);
    [first[0]!, first[1]!, second[1]!].forEach((value, i) => {
      expect(Math.abs(curvature[i]! / value - 1)).toBeLessThan(1e-6);
    });
  });
});

describe('variance ratios of a large record', () => {
  it('start from moments near the truth', () => {
    const [cluster, unit] = momentRatios(sumsOf(herd(1000, 0.8, 0.4)))!;
    expect(Math.abs(cluster / 0.64 - 1)).toBeLessThan(0.15);
    expect(Math.abs(unit / 0.16 - 1)).toBeLessThan(0.15);
  });

  it('lie where the criterion itself is least, not that with β held', () => {
    const sums = sumsOf(herd(400, 0.8, 0.4));
    const ratios = newtonRatios(sums)!;
    const [cluster, unit] = ratios;
    expect(searchRatios(sums)).toMatchObject({ cluster, unit });
    // The slope of −2 log-likelihood by the logarithm of a ratio: its curvature there is in the hundreds.
    const slope = criterionSlope(sums, evaluateSloped(sums, cluster, unit)!);
    slope.forEach((value, i) => {
      expect(Math.abs(value * ratios[i]!)).toBeLessThan(1e-5);
    });
    const held = heldCriterion(sums, cluster, unit).gradient;
    expect(Math.abs(held[0] * cluster)).toBeGreaterThan(1e-2);
    const least = evaluateNested(sums, cluster, unit)!.criterion;
    for (const [a, b] of [
      [0.95, 1],
      [1.05, 1],
      [1, 0.95],
      [1, 1.05],
    ] as const) {
      expect(evaluateNested(sums, cluster * a, unit * b)!.criterion).toBeGreaterThan(least + 1e-3);
    }
  });

  // REMLcrit of lmer(y ~ 0 + x + (0 + z | cluster) + (0 + z | unit)), z = days / 30, x times z: lme4 1.1-31, R 4.2.2, bobyqa
  // to 1e-10, on the same rows.
  it.each([
    ['of units', 0.8, 0, 12, 21814.7424683182],
    ['of clusters', 0, 0.4, 11, 22362.7990623346],
    ['of both', 0, 0, 11, 20462.2573129329],
  ])(
    'lie on an edge where the variance %s is 0 there: no pair near or far is better',
    (_, horse, foot, seed, lme4) => {
      const sums = sumsOf(herd(400, horse, foot, seed));
      const total = sums.s.reduce((sum, value) => sum + value, 0);
      const scale = [sums.clusterIds.length / total, sums.unitIds.length / total] as const;
      const [cluster, unit] = cornerRatios(sums, scale)!;
      expect([cluster > 0, unit > 0]).toEqual([horse > 0, foot > 0]);
      expect(searchRatios(sums)).toMatchObject({ cluster, unit });
      const least = evaluateNested(sums, cluster, unit)!.criterion;
      expect(least).toBeCloseTo(lme4, 8);
      const near = (at: number) => (at > 0 ? [at, at * 0.98, at * 1.02] : [0, 1e-5, 1e-3]);
      const far = [0, 1e-3, 1e-2, 0.1, 1, 10];
      for (const a of [...near(cluster), ...far])
        for (const b of [...near(unit), ...far])
          expect(evaluateNested(sums, a, b)!.criterion, `${a}, ${b}`).toBeGreaterThan(least - 1e-9);
    },
  );

  it.each([
    ['one of them', 0, 0.4],
    ['both', 0, 0],
  ])('lie inside where %s are small and not 0, though an edge is near', (_, horse, foot) => {
    const sums = sumsOf(herd(400, horse, foot, 13));
    const { cluster, unit } = searchRatios(sums);
    expect(Math.min(cluster, unit)).toBeGreaterThan(0);
    const least = evaluateNested(sums, cluster, unit)!.criterion;
    for (const [a, b] of [
      [0, unit],
      [cluster, 0],
      [0, 0],
      [cluster / 2, unit],
      [cluster * 2, unit],
      [cluster, unit / 2],
      [cluster, unit * 2],
    ] as const) {
      expect(evaluateNested(sums, a, b)!.criterion, `${a}, ${b}`).toBeGreaterThan(least);
    }
  });
});
