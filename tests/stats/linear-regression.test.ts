import { describe, expect, it } from 'vitest';
import { isUnavailable, type Outcome } from '../../src/core/outcome.ts';
import { clusterCovariance } from '../../src/stats/cluster-covariance.ts';
import { linearRegression } from '../../src/stats/linear-regression.ts';
import { seededRandom } from '../../src/stats/random.ts';
import reference from '../reference/shares-and-strata.json' with { type: 'json' };

const got = <T>(outcome: Outcome<T>): T => {
  if (isUnavailable(outcome)) throw new Error(outcome.sentence);
  return outcome;
};
const near = (actual: number, expected: number, tolerance: number) =>
  expect(Math.abs(actual / expected - 1), `${actual} for ${expected}`).toBeLessThan(tolerance);
const withLevel = (rows: number[][]) => Float64Array.from(rows.flatMap((row) => [1, ...row]));

describe('linearRegression', () => {
  it('has the certified values of NIST StRD Norris', () => {
    // National Institute of Standards and Technology, Statistical Reference Datasets, Norris (ozone monitors).
    const x = [
      0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0,
      447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1,
      118.3, 229.2, 669.1, 448.9, 0.5,
    ];
    const y = [
      0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
      448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2,
      117.6, 228.9, 668.4, 449.2, 0.2,
    ];
    const found = got(linearRegression(withLevel(x.map((v) => [v])), Float64Array.from(y)));
    near(found.beta[0]!, -0.262323073774029, 1e-11);
    near(found.beta[1]!, 1.00211681802045, 1e-12);
    near(found.stdErrors[0]!, 0.232818234301152, 1e-11);
    near(found.stdErrors[1]!, 0.000429796848199937, 1e-11);
    near(found.residualSd, 0.884796396144373, 1e-11);
  });

  it('agrees with R on nearly collinear columns (Longley 1967, J Am Stat Assoc 62:819–841)', () => {
    const { x, y, beta, se, sd } = reference.longley;
    const found = got(linearRegression(withLevel(x), Float64Array.from(y)));
    beta.forEach((value, j) => {
      near(found.beta[j]!, value, 1e-8);
    });
    se.forEach((value, j) => {
      near(found.stdErrors[j]!, value, 1e-8);
    });
    near(found.residualSd, sd, 1e-9);
  });

  it('has the clustered errors of R sandwich on the Petersen data', () => {
    // Petersen 2009, Rev Financ Stud 22:435–480, as sandwich::PetersenCL: 500 firms, 10 years; read back to 9 digits.
    const { x, y, beta, se, clustered, clusteredPlain } = reference.petersen;
    const n = y.length;
    const cluster = Int32Array.from({ length: n }, (_, i) => Math.floor(i / 10));
    const found = got(linearRegression(withLevel(x.map((v) => [v])), Float64Array.from(y), { cluster }));
    for (const j of [0, 1]) {
      near(found.beta[j]!, beta[j]!, 1e-6);
      near(found.stdErrors[j]!, se[j]!, 1e-6);
      const robust = found.robustCovariance![j * 3]!;
      near(Math.sqrt(robust), clusteredPlain[j]!, 1e-6); // type HC0, with G/(G − 1)
      near(Math.sqrt((robust * (n - 1)) / (n - 2)), clustered[j]!, 1e-6); // sandwich multiplies by (n − 1)/(n − p) too
    }
    near(Math.sqrt((found.robustCovariance![3]! * (n - 1)) / (n - 2)), 0.050596, 1e-4);
  });

  it('by hand: three points, unsorted, two alike', () => {
    // (2, 4), (0, 1), (2, 6): slope Sxy/Sxx = (16/3)/(8/3) = 2, level 1, residuals −1, 0, 1, s² = 2/1.
    const found = got(linearRegression(withLevel([[2], [0], [2]]), Float64Array.of(4, 1, 6)));
    near(found.beta[0]!, 1, 1e-12);
    near(found.beta[1]!, 2, 1e-12);
    near(found.residualSd ** 2, 2, 1e-12);
    near(found.stdErrors[1]! ** 2, 2 / (8 / 3), 1e-12);
    expect(found.degreesOfFreedom).toBe(1);
  });

  it('does not depend on row order and follows a change of unit', () => {
    const random = seededRandom(2);
    const rows = Array.from({ length: 30 }, () => [random.normal(), random.normal()]);
    const y = rows.map(([a, b]) => 3 + a! - 2 * b! + random.normal());
    const base = got(linearRegression(withLevel(rows), Float64Array.from(y)));
    const order = random.shuffle([...rows.keys()]);
    const turned = got(
      linearRegression(
        withLevel(order.map((i) => rows[i]!)),
        Float64Array.from(order, (i) => 25.4 * y[i]!),
      ),
    );
    base.beta.forEach((value, j) => {
      near(turned.beta[j]! / 25.4, value, 1e-10);
    });
    base.stdErrors.forEach((value, j) => {
      near(turned.stdErrors[j]! / 25.4, value, 1e-10);
    });
  });

  it('hard cases', () => {
    expect(linearRegression(withLevel([[1], [2]]), Float64Array.of(1, 2))).toMatchObject({
      unavailable: 'no-rows',
    });
    const same = linearRegression(withLevel([[5], [5], [5]]), Float64Array.of(1, 2, 4), {
      names: ['level', 'days'],
    });
    expect(same).toMatchObject({ unavailable: 'collinear' });
    expect(isUnavailable(same) && same.sentence).toContain('days');
    expect(linearRegression(withLevel([[0], [0], [0]]), Float64Array.of(1, 2, 4))).toMatchObject({
      unavailable: 'collinear',
    });
    expect(() => linearRegression(withLevel([[1], [Number.NaN], [3]]), Float64Array.of(1, 2, 3))).toThrow(
      'x must be finite: NaN at 3',
    );
  });
});

describe('clusterCovariance', () => {
  it('by hand: scores add up within clusters before they are squared', () => {
    // Scores 1, 2 | −3 with bread 1/2: meat 9 + 9 = 18, sandwich 18/4 = 4.5, times 2/1 for two clusters.
    const scores = Float64Array.of(1, -3, 2);
    const cluster = Int32Array.of(4, 9, 4);
    const plain = got(clusterCovariance(Float64Array.of(0.5), scores, cluster, { smallSample: 'none' }));
    expect(plain.covariance[0]).toBe(4.5);
    expect(got(clusterCovariance(Float64Array.of(0.5), scores, cluster))).toMatchObject({ nClusters: 2 });
    expect(got(clusterCovariance(Float64Array.of(0.5), scores, cluster)).covariance[0]).toBe(9);
  });

  it('refuses one cluster and sizes that disagree', () => {
    expect(clusterCovariance(Float64Array.of(1), Float64Array.of(1, 2), Int32Array.of(3, 3))).toMatchObject({
      unavailable: 'one-cluster',
    });
    expect(() => clusterCovariance(Float64Array.of(1), Float64Array.of(1), Int32Array.of(3, 3))).toThrow(
      'scores must hold 2 values: 1',
    );
  });
});
