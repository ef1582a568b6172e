import { describe, expect, it } from 'vitest';
import { type Estimate, isUnavailable, type Outcome } from '../../src/core/outcome.ts';
import { searchBox } from '../../src/stats/box-search.ts';
import { factorSpd } from '../../src/stats/linear-algebra.ts';
import { evaluateNested } from '../../src/stats/nested-evaluate.ts';
import { type VarianceName, varianceInterval } from '../../src/stats/nested-profile.ts';
import { criterionSlope, evaluateSloped } from '../../src/stats/nested-sloped.ts';
import { fitNestedSlopes, type NestedSlopesFit } from '../../src/stats/nested-slopes.ts';
import type { NestedSlopesData } from '../../src/stats/nested-sums.ts';
import { nestedSums, rateSums } from '../../src/stats/nested-sums.ts';
import { numericGradient } from '../../src/stats/optimise.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { residualLag } from '../../src/stats/residual-lag.ts';

const got = <T>(outcome: Outcome<T>): T => {
  if (isUnavailable(outcome)) throw new Error(outcome.sentence);
  return outcome;
};

// Dyestuff (Davies 1947, in lme4): balanced, so the likelihood has a closed form in the two sums of squares.
const yields = [
  [1545, 1440, 1440, 1520, 1580],
  [1540, 1555, 1490, 1560, 1495],
  [1595, 1550, 1605, 1510, 1560],
  [1445, 1440, 1595, 1465, 1545],
  [1595, 1630, 1515, 1635, 1625],
  [1520, 1455, 1450, 1480, 1445],
];
const dyestuff: NestedSlopesData = {
  days: new Float64Array(30).fill(30),
  y: Float64Array.from(yields.flat()),
  x: new Float64Array(30).fill(1),
  cluster: Int32Array.from({ length: 30 }, (_, i) => Math.floor(i / 5)),
  unit: Int32Array.from({ length: 30 }, (_, i) => Math.floor(i / 5)),
};

/** A herd with errors of its own at both ends (`shared` = the end of one cycle is the start of the next). */
function herd(seed: number, shared: boolean, rates = { cluster: 0.8, unit: 0.4 }) {
  const random = seededRandom(seed);
  const rows: number[][] = [];
  for (let g = 0; g < 30; g++) {
    const own = random.normal(0, rates.cluster);
    for (let f = 0; f < 2; f++) {
      const foot = random.normal(0, rates.unit);
      let last = random.normal();
      for (let i = 0; i < 8; i++) {
        const days = random.integer(28, 84);
        const next = random.normal();
        const start = shared ? last : random.normal();
        rows.push([days, (days / 30) * (7.5 + own + foot) + next - start, g, 2 * g + f, i]);
        last = next;
      }
    }
  }
  const column = (j: number) => Float64Array.from(rows, (r) => r[j]!);
  const data: NestedSlopesData = {
    days: column(0),
    y: column(1),
    x: new Float64Array(rows.length).fill(1),
    cluster: Int32Array.from(column(2)),
    unit: Int32Array.from(column(3)),
  };
  return { data, order: column(4) };
}

describe('the criterion’s analytic slope', () => {
  it.each([1, 3])('agrees with numeric differences, at a variance of 0 too: %i columns', (p) => {
    const { data: one } = herd(1, false);
    // Besides the level a column by unit, so that it varies within clusters, and one that stands in some rows alone.
    const columns = [() => 1, (row: number) => one.unit[row]! % 3, (row: number) => (row % 5 === 0 ? 1 : 0)];
    const x = Float64Array.from({ length: p * one.y.length }, (_, at) =>
      columns[at % p]!(Math.floor(at / p)),
    );
    const data = { ...one, x };
    const crude = rateSums(data, p);
    const sums = nestedSums(data, crude, factorSpd(crude.xx, p)!);
    for (const at of [
      [0.3, 0.1],
      [0.05, 0.9],
      [2, 0.01],
    ]) {
      const slope = criterionSlope(sums, evaluateSloped(sums, at[0]!, at[1]!)!);
      const numeric = numericGradient(
        (l) => evaluateNested(sums, l[0]!, l[1]!)!.criterion,
        Float64Array.from(at),
        1e-4,
      );
      slope.forEach((value, i) => {
        expect(Math.abs(value / numeric[i]! - 1)).toBeLessThan(1e-5);
      });
    }
    const atZero = criterionSlope(sums, evaluateSloped(sums, 0, 0)!);
    const ahead = evaluateNested(sums, 1e-6, 0)!.criterion - evaluateNested(sums, 0, 0)!.criterion;
    expect(Math.abs(ahead / 1e-6 / atZero[0] - 1)).toBeLessThan(1e-2);
  });
});

describe('varianceInterval', () => {
  it('equals the closed form of a balanced design', () => {
    const [within, between] = [24 * 2451.25, 5 * 11271.5];
    const criterion = (residual: number, cluster: number) =>
      24 * Math.log(residual) +
      within / residual +
      5 * Math.log(residual + 5 * cluster) +
      between / (residual + 5 * cluster);
    const least = criterion(2451.25, (11271.5 - 2451.25) / 5);
    const best = (f: (other: number) => number, top: number) =>
      searchBox((x) => f(x[0]!), [1e-3], [top]).value;
    const atEnds = (which: VarianceName) => {
      const { low, high } = got(
        varianceInterval(dyestuff, got(fitNestedSlopes(dyestuff)), which),
      ) as Estimate;
      return [low, high];
    };
    const cluster = atEnds('cluster');
    const residual = atEnds('residual');
    for (const end of cluster) {
      expect(best((s) => criterion(s, end), 3e4) - least).toBeCloseTo(3.841458820694124, 5);
    }
    for (const end of residual) {
      expect(best((t) => criterion(end, t), 3e4) - least).toBeCloseTo(3.841458820694124, 5);
    }
    expect(cluster[0]).toBeGreaterThan(0);
    expect(cluster[0]! < 1764.05 && 1764.05 < cluster[1]!).toBe(true);
  });

  it('starts at exactly 0 where no variance is as good, and refuses one that the rows cannot show', () => {
    const { data } = herd(3, false, { cluster: 0.8, unit: 0 });
    const fitted: NestedSlopesFit = got(fitNestedSlopes(data));
    const unit = got(varianceInterval(data, fitted, 'unit'));
    expect(unit.low).toBe(0);
    expect(unit.high).toBeGreaterThan(0);
    expect(unit.high).toBeLessThan(0.3);
    expect(varianceInterval(dyestuff, got(fitNestedSlopes(dyestuff)), 'unit')).toMatchObject({
      unavailable: 'one-cluster',
    });
  });

  it('covers the truth about as often as it claims (40 herds)', () => {
    const inside = { cluster: 0, unit: 0, residual: 0 };
    const truth = { cluster: 0.64, unit: 0.16, residual: 2 };
    for (let seed = 0; seed < 40; seed++) {
      const { data } = herd(400 + seed, false);
      const fitted = got(fitNestedSlopes(data));
      for (const which of ['cluster', 'unit', 'residual'] as const) {
        const { low, high } = got(varianceInterval(data, fitted, which));
        if (low <= truth[which] && truth[which] <= high) inside[which]++;
      }
    }
    // Fewer than 33 of 40 has a chance below 0.5 % under 95 % coverage (binomial).
    for (const count of Object.values(inside)) expect(count).toBeGreaterThanOrEqual(33);
  });
});

describe('residualLag', () => {
  it('is near 0 where each cycle has its own errors and near −1/2 where ends are shared', () => {
    for (const shared of [false, true]) {
      const { data, order } = herd(11, shared);
      const lag = got(residualLag(data, got(fitNestedSlopes(data)), order));
      expect(lag.sharedEnds).toBe(shared);
      expect(lag.nPairs).toBe(30 * 2 * 7);
      expect(Math.abs(lag.estimate - (shared ? -0.5 : -0.05))).toBeLessThan(0.15);
    }
  });

  it('does not depend on the order of rows and needs pairs', () => {
    const { data, order } = herd(12, true);
    const fitted = got(fitNestedSlopes(data));
    const turn = Array.from(order.keys()).reverse();
    const pick = <T extends Float64Array | Int32Array>(from: T) => turn.map((i) => from[i]!);
    const turned = {
      days: Float64Array.from(pick(data.days)),
      y: Float64Array.from(pick(data.y)),
      x: Float64Array.from(pick(data.x)),
      cluster: Int32Array.from(pick(data.cluster)),
      unit: Int32Array.from(pick(data.unit)),
    };
    expect(got(residualLag(turned, fitted, Float64Array.from(pick(order)))).estimate).toBeCloseTo(
      got(residualLag(data, fitted, order)).estimate,
      10,
    );
    const few = { ...dyestuff, unit: Int32Array.from({ length: 30 }, (_, i) => i) };
    expect(residualLag(few, got(fitNestedSlopes(few)), new Float64Array(30))).toMatchObject({
      unavailable: 'no-rows',
    });
  });
});
