import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isUnavailable } from '../../src/core/outcome.ts';
import { nestedRobustCovariance } from '../../src/stats/nested-covariance.ts';
import {
  clusterEffect,
  clusterRate,
  meanRate,
  unitDifference,
  unitEffect,
  unitRate,
} from '../../src/stats/nested-predict.ts';
import { fitNestedSlopes, type NestedSlopesFit } from '../../src/stats/nested-slopes.ts';
import type { NestedSlopesData } from '../../src/stats/nested-sums.ts';
import { seededRandom } from '../../src/stats/random.ts';
import reference from '../reference/nested-slopes.json' with { type: 'json' };

const near = (actual: number, expected: number, tolerance = 1e-6) =>
  expect(Math.abs(actual - expected), `${actual} for ${expected}`).toBeLessThan(
    tolerance * Math.max(1e-3, Math.abs(expected)),
  );

function rates(data: NestedSlopesData): NestedSlopesFit {
  const result = fitNestedSlopes(data);
  if (isUnavailable(result)) throw new Error(result.sentence);
  return result;
}

type Row = { days: number; y: number; x: number[]; cluster: number; unit: number };
const fromRows = (rows: Row[]): NestedSlopesData => ({
  days: Float64Array.from(rows, (r) => r.days),
  y: Float64Array.from(rows, (r) => r.y),
  x: Float64Array.from(rows.flatMap((r) => r.x)),
  cluster: Int32Array.from(rows, (r) => r.cluster),
  unit: Int32Array.from(rows, (r) => r.unit),
});

const row = (cluster: number, unit: number, days: number, y: number, x = [1]): Row => ({
  days,
  y,
  x,
  cluster,
  unit,
});

const referenceRows = (name: 'inner' | 'edge'): Row[] => {
  const d = reference[name].data;
  return d.y.map((y, i) => ({
    days: d.days[i]!,
    y,
    x: [1, d.group[i]!, d.C[i]!, d.S[i]!],
    cluster: d.cluster[i]!,
    unit: d.unit[i]!,
  }));
};

describe('against R: lme4 on rates weighted by time squared, and dense mixed model equations', () => {
  // Made by tests/reference/nested-slopes.R (R 4.2.2, lme4 1.1-31). lme4's optimiser stops near 1e-6 relative.
  for (const name of ['inner', 'edge'] as const) {
    it(`${name}: estimates, errors, variances, criterion`, () => {
      const { values } = reference[name];
      const found = rates(fromRows(referenceRows(name)));
      values.beta.forEach((value, j) => {
        near(found.beta[j]!, value);
      });
      values.covariance.flat().forEach((value, k) => {
        near(found.covariance[k]!, value, 1e-5);
      });
      const robust = nestedRobustCovariance(fromRows(referenceRows(name)), found)!;
      values.robust.flat().forEach((value, k) => {
        near(robust[k]!, value, 1e-5);
      });
      near(found.variances.cluster, values.variances.cluster, 1e-5);
      near(found.variances.unit, values.variances.unit, 1e-5);
      near(found.variances.residual, values.variances.residual, 1e-5);
      near(found.criterion, values.criterion, 1e-9);
      expect(found.criterion).toBeLessThanOrEqual(values.criterion + 1e-7);
    });

    it(`${name}: predicted effects and rates with their prediction errors`, () => {
      const { values } = reference[name];
      const found = rates(fromRows(referenceRows(name)));
      const x0 = Float64Array.from(values.x0);
      const same = (estimate: { estimate: number; stdError: number | null }, pair: number[]) => {
        near(estimate.estimate, pair[0]!, 1e-4);
        near(estimate.stdError!, pair[1]!, 1e-5);
      };
      values.clusters.forEach((place, i) => {
        same(clusterEffect(found, place - 1), values.clusterEffect[i]!);
        same(clusterRate(found, place - 1, x0), values.clusterRate[i]!);
      });
      values.units.forEach((place, i) => {
        same(unitEffect(found, place - 1), values.unitEffect[i]!);
        same(unitRate(found, place - 1, x0), values.unitRate[i]!);
      });
      same(unitDifference(found, values.pair[0]! - 1, values.pair[1]! - 1), values.pairDifference);
      values.lme4ClusterEffects.forEach((value, g) => {
        near(found.clusterEffects[g]!, value, 1e-4);
      });
    });
  }

  it('puts a variance at its boundary at exactly 0, with effects of 0', () => {
    const found = rates(fromRows(referenceRows('edge')));
    expect(found.boundary).toEqual({ cluster: false, unit: true });
    expect(found.variances.unit).toBe(0);
    expect(Array.from(found.unitEffects).every((value) => value === 0)).toBe(true);
  });

  it('sleepstudy (Belenky et al. 2003, in lme4): slopes from a common start of 250 ms', () => {
    const { data, values } = reference.sleepstudy;
    const rows = data.y.map((y, i) => ({
      days: 30 * data.days[i]!,
      y,
      x: [1],
      cluster: data.subject[i]!,
      unit: data.subject[i]!,
    }));
    const found = rates(fromRows(rows));
    near(found.beta[0]!, values.beta);
    near(found.stdErrors[0]!, values.se, 1e-5);
    near(found.variances.cluster, values.cluster, 1e-5);
    near(found.variances.residual, values.residual, 1e-5);
    values.effects.forEach((value, g) => {
      near(found.clusterEffects[g]!, value, 1e-5);
    });
  });
});

describe('Dyestuff (Davies 1947, in lme4): with all times equal this is the random-intercept model', () => {
  const yields = [
    [1545, 1440, 1440, 1520, 1580],
    [1540, 1555, 1490, 1560, 1495],
    [1595, 1550, 1605, 1510, 1560],
    [1445, 1440, 1595, 1465, 1545],
    [1595, 1630, 1515, 1635, 1625],
    [1520, 1455, 1450, 1480, 1445],
  ];
  const rows = yields.flatMap((ys, g) => ys.map((y) => ({ days: 30, y, x: [1], cluster: g, unit: g })));
  const found = rates(fromRows(rows));

  it('equals the closed form of the balanced design', () => {
    // Between and within mean squares 11271.5 and 2451.25: σ² = MSW, τ² = (MSB − MSW)/5.
    near(found.beta[0]!, 1527.5, 1e-12);
    near(found.variances.residual, 2451.25, 1e-7);
    near(found.variances.cluster, (11271.5 - 2451.25) / 5, 1e-7);
    near(found.stdErrors[0]!, Math.sqrt(11271.5 / 30), 1e-7);
    near(found.criterion, 319.654276842, 1e-10);
  });

  it('equals the published effects and says that one unit a cluster shows no unit variance', () => {
    [-17.6068512235, 0.391263360522, 28.5622253181, -23.0845382708, 56.7331872756, -44.99528646].forEach(
      (value, g) => {
        near(found.clusterEffects[g]!, value, 1e-6);
      },
    );
    expect(found.estimable).toEqual({ cluster: true, unit: false });
    expect(found.degreesOfFreedom[0]).toBe(5);
  });
});

describe('what must and must not change the answer', () => {
  const rows = referenceRows('inner');
  const base = rates(fromRows(rows));

  it('row order and renamed clusters and units do not', () => {
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const shuffled = seededRandom(seed).shuffle(rows);
        const found = rates(
          fromRows(shuffled.map((r) => ({ ...r, cluster: 7 - 3 * r.cluster, unit: 1000 - r.unit }))),
        );
        found.beta.forEach((value, j) => {
          near(value, base.beta[j]!, 1e-7);
        });
        near(found.variances.unit, base.variances.unit, 1e-5);
        // ids descend, so places are reversed
        found.clusterEffects.forEach((value, g) => {
          near(value, base.clusterEffects[base.nClusters - 1 - g]!, 1e-5);
        });
      }),
      { numRuns: 6 },
    );
  });

  it('a change of unit scales rates and errors and leaves the pooling alone', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.01, max: 1000, noNaN: true }), (factor) => {
        const found = rates(fromRows(rows.map((r) => ({ ...r, y: r.y * factor }))));
        near(found.beta[0]! / factor, base.beta[0]!, 1e-7);
        near(found.stdErrors[1]! / factor, base.stdErrors[1]!, 1e-6);
        near(found.variances.cluster / factor ** 2, base.variances.cluster, 1e-5);
        near(found.ratios.unit, base.ratios.unit, 1e-5);
      }),
      { numRuns: 6 },
    );
  });

  it('a second herd that is a copy of the first leaves estimates and shrinks errors by about √2', () => {
    const twice = [...rows, ...rows.map((r) => ({ ...r, cluster: r.cluster + 500, unit: r.unit + 5000 }))];
    const twin = rates(fromRows(twice));
    near(twin.beta[1]!, base.beta[1]!, 2e-2); // REML ratios move a little with n − p
    near(twin.stdErrors[1]! * Math.SQRT2, base.stdErrors[1]!, 3e-2);
    const n = base.nClusters;
    const robust = nestedRobustCovariance(fromRows(twice), twin)![5]! * ((2 * n - 1) / (2 * n)) * 2;
    near(robust, nestedRobustCovariance(fromRows(rows), base)![5]! * ((n - 1) / n), 3e-2);
  });

  it('adding a constant rate moves the level by it and nothing else', () => {
    const found = rates(fromRows(rows.map((r) => ({ ...r, y: r.y + 2.5 * (r.days / 30) }))));
    near(found.beta[0]!, base.beta[0]! + 2.5, 1e-9);
    near(found.beta[2]!, base.beta[2]!, 1e-7);
    near(found.variances.residual, base.variances.residual, 1e-7);
  });
});

describe('a case done by hand', () => {
  it('one cluster is least squares through the origin, with no pooling', () => {
    // z = 1, 2 and y = 8, 15: slope 38/5 = 7.6, residuals 0.4 and −0.2, s² = 0.2, SE √(0.2/5) = 0.2.
    const data = fromRows([
      { days: 60, y: 15, x: [1], cluster: 1, unit: 1 },
      { days: 30, y: 8, x: [1], cluster: 1, unit: 1 },
    ]);
    const found = rates(data);
    expect(found.method).toBe('least-squares');
    near(found.beta[0]!, 7.6, 1e-12);
    near(found.variances.residual, 0.2, 1e-12);
    near(found.stdErrors[0]!, 0.2, 1e-12);
    near(found.high[0]!, 7.6 + 12.7062047361747 * 0.2, 1e-10); // t with one degree of freedom
    expect(nestedRobustCovariance(data, found)).toBeNull();
    expect(found.variances.cluster).toBe(0);
    near(meanRate(found, Float64Array.of(1)).stdError!, 0.2, 1e-12);
  });
});

describe('hard cases', () => {
  it.each<[string, Row[], string]>([
    ['no rows', [], 'no-rows'],
    ['one row', [row(1, 1, 40, 10)], 'no-rows'],
    ['an exact fit', [row(1, 1, 30, 8), row(1, 1, 60, 16), row(2, 2, 30, 8)], 'one-level'],
    ['all amounts zero', [row(1, 1, 30, 0), row(2, 2, 60, 0), row(2, 2, 30, 0)], 'one-level'],
    [
      'two equal columns',
      [row(1, 1, 30, 8, [1, 1]), row(1, 1, 60, 15, [1, 1]), row(2, 2, 40, 9, [1, 1])],
      'collinear',
    ],
    ['no time passes', [row(1, 1, 0, 1), row(1, 1, 0, 2), row(2, 2, 0, 3)], 'collinear'],
  ])('%s ends in a sentence', (_, rows, reason) => {
    const result = fitNestedSlopes(fromRows(rows));
    expect(result).toMatchObject({ unavailable: reason });
    expect(isUnavailable(result) && result.sentence.length > 20).toBe(true);
  });

  it('all amounts equal but not the times still has a rate', () => {
    const found = rates(fromRows([row(1, 1, 30, 8), row(1, 1, 60, 8), row(2, 2, 45, 8), row(2, 2, 50, 8)]));
    expect(Number.isFinite(found.beta[0])).toBe(true);
    expect(found.stdErrors[0]).toBeGreaterThan(0);
  });

  it('one row a cluster cannot show how clusters differ, and says so', () => {
    const data = fromRows([row(1, 1, 30, 8), row(2, 2, 60, 15), row(3, 3, 45, 12)]);
    const found = rates(data);
    expect(found.estimable).toEqual({ cluster: false, unit: false });
    expect(found.method).toBe('least-squares');
    expect(nestedRobustCovariance(data, found)).not.toBeNull();
  });

  it('one cluster with 10 000 rows is least squares', () => {
    const random = seededRandom(5);
    const rows = Array.from({ length: 10_000 }, (_, i) => {
      const days = random.integer(25, 90);
      return row(1, i % 4, days, (days / 30) * 7.5 + random.normal());
    });
    const found = rates(fromRows(rows));
    expect(found.method).toBe('least-squares');
    expect(Math.abs(found.beta[0]! - 7.5)).toBeLessThan(4 * found.stdErrors[0]!);
  });

  it('rejects what only bad code can send', () => {
    const good = fromRows([row(1, 1, 30, 8), row(2, 2, 60, 15)]);
    expect(() => fitNestedSlopes({ ...good, y: Float64Array.of(1, Number.NaN) })).toThrow(
      'y must be finite: NaN at 1',
    );
    expect(() => fitNestedSlopes({ ...good, days: Float64Array.of(1) })).toThrow(
      'days must hold 2 values: 1',
    );
    expect(() => fitNestedSlopes({ ...good, unit: Int32Array.of(1, 1) })).toThrow(
      'a unit must lie in one cluster: 1',
    );
    expect(() => fitNestedSlopes({ ...good, days: Float64Array.of(-1, 2) })).toThrow(
      /days must not be negative: -1/,
    );
  });
});

describe('simulated herds of known truth', () => {
  it('finds rates, variances and covers each cluster’s own rate about as often as it claims', () => {
    const herds = 30;
    const sums = { level: 0, group: 0, tau2: 0, phi2: 0, sigma2: 0 };
    let [covered, asked] = [0, 0];
    for (let seed = 0; seed < herds; seed++) {
      const random = seededRandom(9000 + seed);
      const rows: Row[] = [];
      const truth: number[] = [];
      for (let g = 0; g < 40; g++) {
        const group = g % 2;
        const own = random.normal(0, 0.8);
        truth.push(7.5 + 1.5 * group + own);
        for (let f = 0; f < 4; f++) {
          const foot = random.normal(0, 0.4);
          for (let i = 0; i < 4; i++) {
            const days = random.integer(28, 84);
            const y = (days / 30) * (7.5 + 1.5 * group + own + foot) + random.normal(0, 1.2);
            rows.push(row(g, 4 * g + f, days, y, [1, group]));
          }
        }
      }
      const found = rates(fromRows(rows));
      sums.level += found.beta[0]! / herds;
      sums.group += found.beta[1]! / herds;
      sums.tau2 += found.variances.cluster / herds;
      sums.phi2 += found.variances.unit / herds;
      sums.sigma2 += found.variances.residual / herds;
      truth.forEach((rate, g) => {
        const { low, high } = clusterRate(found, g, Float64Array.of(1, g % 2));
        covered += low <= rate && rate <= high ? 1 : 0;
        asked++;
      });
    }
    // About four standard errors of the mean of 30 herds, from the design's own information.
    expect(Math.abs(sums.level - 7.5)).toBeLessThan(0.15);
    expect(Math.abs(sums.group - 1.5)).toBeLessThan(0.2);
    expect(Math.abs(sums.tau2 - 0.64)).toBeLessThan(0.12);
    expect(Math.abs(sums.phi2 - 0.16)).toBeLessThan(0.04);
    expect(Math.abs(sums.sigma2 - 1.44)).toBeLessThan(0.07);
    expect(covered / asked).toBeGreaterThan(0.925);
    expect(covered / asked).toBeLessThan(0.98);
  });

  it('holds a cluster’s effect as often as it claims only with the uncertainty of the mean in its interval', () => {
    // Six groups of ten clusters, each cluster seen often: then its own record says little beside its group's mean.
    let [withMean, withoutMean, asked] = [0, 0, 0];
    for (let seed = 0; seed < 20; seed++) {
      const random = seededRandom(seed + 1);
      const truth = Array.from({ length: 60 }, () => random.normal(0, 0.9));
      const rows: Row[] = [];
      for (let g = 0; g < 60; g++) {
        const x = Array.from({ length: 6 }, (_, j) => (j === 0 || g % 6 === j ? 1 : 0));
        for (let f = 0; f < 4; f++) {
          const foot = random.normal(0, 0.3);
          for (let i = 0; i < 12; i++) {
            const days = random.integer(28, 70);
            rows.push(
              row(g, 4 * g + f, days, (days / 30) * (7.5 + truth[g]! + foot) + random.normal(0, 1.2), x),
            );
          }
        }
      }
      const found = rates(fromRows(rows));
      truth.forEach((own, g) => {
        const { low, high } = clusterEffect(found, g);
        asked++;
        if (low <= own && own <= high) withMean++;
        if (Math.abs(found.clusterEffects[g]! - own) <= 1.96 * Math.sqrt(found.clusterVariances[g]!))
          withoutMean++;
      });
    }
    expect(withMean / asked).toBeGreaterThan(0.92);
    expect(withMean / asked).toBeLessThan(0.98);
    expect(withoutMean / asked).toBeLessThan(0.85);
  });
});
