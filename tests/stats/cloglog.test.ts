import { describe, expect, it } from 'vitest';
import { cellRows, collapseRows } from '../../src/stats/cells.ts';
import {
  type BinaryData,
  fitBinary,
  inverseLink,
  inverseLinkSlope,
  linkOf,
} from '../../src/stats/cloglog.ts';
import { studentQuantile } from '../../src/stats/distributions.ts';
import { coefficient, errorOf } from '../../src/stats/predictor-fit.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { errorsOf, expectAll, expectReason, value } from './expect-close.ts';

/** Groups of alike rows: covariates, events, rows. */
function grouped(groups: readonly (readonly [number[], number, number])[], terms: string[]): BinaryData {
  const event: number[] = [];
  const x: number[] = [];
  const weight: number[] = [];
  const cluster: number[] = [];
  groups.forEach(([row, events, n], g) => {
    for (const y of [0, 1]) {
      event.push(y);
      x.push(...row);
      weight.push(y === 1 ? events : n - events);
      cluster.push(g);
    }
  });
  return { event, x: Float64Array.from(x), terms, cluster, weight };
}

/** Log dose of CS₂, beetles, killed: Bliss 1935, Ann Appl Biol 22:134–167, as in Dobson, Generalized Linear Models. */
const BEETLES = [
  [1.6907, 59, 6],
  [1.7242, 60, 13],
  [1.7552, 62, 18],
  [1.7842, 56, 28],
  [1.8113, 63, 52],
  [1.8369, 59, 53],
  [1.861, 62, 61],
  [1.8839, 60, 60],
] as const;
const beetles = grouped(
  BEETLES.map(([dose, n, killed]) => [[1, dose], killed, n] as const),
  ['intercept', 'dose'],
);

/** Twice the gap to the model with a share for each group. */
function deviance(logLikelihood: number): number {
  const saturated = BEETLES.reduce((sum, [, n, y]) => {
    const p = y / n;
    return sum + y * Math.log(p) + (p < 1 ? (n - y) * Math.log(1 - p) : 0);
  }, 0);
  return 2 * (saturated - logLikelihood);
}

describe('fitBinary', () => {
  // Values: R 4.2.2 glm(cbind(y, n - y) ~ x, binomial(link)).
  it.each([
    ['cloglog', [-39.5723106061, 22.0411698208], [3.24027261967, 1.79935519098], 3.44643873302],
    ['logit', [-60.7174545616, 34.2703257341], [5.18071146332, 2.91214007062], 11.2322310974],
  ] as const)('agrees with R glm on the beetles: %s', (link, coefficients, errors, expectedDeviance) => {
    const fit = value(fitBinary(beetles, { link, covariance: 'model' }));
    expectAll(fit.theta, coefficients, 1e-9);
    // R stops one step earlier, which its standard errors show in the sixth digit.
    expectAll(errorsOf(fit), errors, 1e-5);
    expect(deviance(fit.logLikelihood)).toBeCloseTo(expectedDeviance, 8);
  });

  it('gives the share itself, and the binomial standard error, for one group: worked by hand', () => {
    const fit = value(fitBinary(grouped([[[1], 6, 20]], ['level']), { link: 'logit', covariance: 'model' }));
    expect(fit.theta[0]).toBeCloseTo(Math.log(6 / 14), 12);
    expect(errorsOf(fit)[0]).toBeCloseTo(Math.sqrt(1 / 6 + 1 / 14), 10);
    const cloglog = value(fitBinary(grouped([[[1], 6, 20]], ['level']), { covariance: 'model' }));
    expect(cloglog.theta[0]).toBeCloseTo(Math.log(-Math.log(0.7)), 12);
    // d p/dη = −(1 − p) log(1 − p).
    expect(errorsOf(cloglog)[0]).toBeCloseTo(Math.sqrt((0.3 * 0.7) / 20) / (-0.7 * Math.log(0.7)), 10);
  });

  it('comes to the same of rows collapsed before', () => {
    const { terms } = beetles;
    const cells = collapseRows(
      [beetles.event, { matrix: beetles.x, width: 2 }],
      beetles.cluster,
      beetles.weight,
    );
    const event = Array.from(cells.firstRow, (row) => beetles.event[row]!);
    const x = cellRows(cells, beetles.x, 2);
    expect(fitBinary({ cells, event, x, terms })).toEqual(fitBinary(beetles));
  });

  it('sums scores by cluster: worked by hand for a share', () => {
    // Logit, level only: bread 1/(n p q), score y − p. Clusters (1 1 0), (0 0), (1 0 0): p = 3/8.
    const data: BinaryData = {
      event: [1, 1, 0, 0, 0, 1, 0, 0],
      x: new Float64Array(8).fill(1),
      terms: ['level'],
      cluster: [1, 1, 1, 2, 2, 3, 3, 3],
    };
    const meat = (2 - 9 / 8) ** 2 + (6 / 8) ** 2 + (1 - 9 / 8) ** 2;
    const bread = 1 / (8 * (3 / 8) * (5 / 8));
    const fit = value(fitBinary(data, { link: 'logit' }));
    expect(fit.covariance[0]).toBeCloseTo(bread * bread * meat * 1.5, 10);
    // Information goes with the rows, 3 : 2 : 3, so the share rests on 8²/(3² + 2² + 3²) = 2.909 clusters.
    const found = value(errorOf(fit, Float64Array.of(1)));
    expect(found.stdError).toBeCloseTo(Math.sqrt(fit.covariance[0]!), 12);
    expect(found.multiplier).toBeCloseTo(studentQuantile(0.975, 64 / 22 - 1), 8);
  });

  it('gives no interval to a group that is one cluster, and changes nothing for the rest', () => {
    const random = seededRandom(51);
    const clusters = Array.from({ length: 20 }, (_, g) => g);
    const rows = clusters.flatMap((g) =>
      Array.from({ length: 12 }, () => ({ g, lone: g === 0 ? 1 : 0, y: random.uniform() < 0.3 ? 1 : 0 })),
    );
    const refit = (input: typeof rows, terms: string[]) =>
      value(
        fitBinary({
          event: input.map(({ y }) => y),
          x: Float64Array.from(input.flatMap(({ lone }) => [1, lone].slice(0, terms.length))),
          terms,
          cluster: input.map(({ g }) => g),
        }),
      );
    const fit = refit(rows, ['level', 'lone']);
    // Its scores sum to 0 at its own share, so the sandwich sees no uncertainty from it at all.
    expect(errorsOf(fit)[1]).toBeLessThan(0.3 * Math.sqrt(fit.modelCovariance[3]!));
    const found = coefficient(fit, 1);
    if (found.kind !== 'unavailable') throw new Error('no interval was expected');
    expectReason(found.why, 'one-cluster');
    const without = refit(
      rows.filter(({ lone }) => lone === 0),
      ['level'],
    );
    expect(fit.theta[0]).toBeCloseTo(without.theta[0]!, 9);
    expect(coefficient(fit, 0).kind).toBe('estimated');
  });

  it('refuses more figures than there are clusters', () => {
    const few = grouped(
      [
        [[1, 0], 6, 20],
        [[1, 1], 3, 20],
      ],
      ['a', 'b'],
    );
    expectReason(fitBinary(few), 'one-cluster');
    expect(coefficient(value(fitBinary(few, { covariance: 'model' })), 1).kind).toBe('estimated');
  });

  it('does not care about row order, cluster names, or a covariate in other units', () => {
    const random = seededRandom(21);
    const rows = Array.from({ length: 400 }, (_, i) => {
      const days = random.integer(4, 12) * 7;
      const p = -Math.expm1(-0.3 * (days / 42) ** 1.4);
      return { y: random.uniform() < p ? 1 : 0, days, group: i % 2, cluster: i % 25 };
    });
    const refit = (input: typeof rows, unit: number, name: (g: number) => number) =>
      value(
        fitBinary({
          event: input.map(({ y }) => y),
          x: Float64Array.from(input.flatMap(({ days, group }) => [1, group, Math.log(days / unit)])),
          terms: ['level', 'group', 'log time'],
          cluster: input.map(({ cluster }) => name(cluster)),
        }),
      );
    const a = refit(rows, 42, (g) => g);
    const b = refit(random.shuffle(rows), 42, (g) => -5 * g);
    expectAll(b.theta, a.theta, 1e-9);
    expectAll(b.covariance, a.covariance, 1e-8);
    const c = refit(rows, 7, (g) => g);
    expectAll([c.theta[0]! + c.theta[2]! * Math.log(6), c.theta[1]!, c.theta[2]!], a.theta, 1e-8);
    expect(errorsOf(c)[2]).toBeCloseTo(errorsOf(a)[2]!, 9);
  });

  it.each(['cloglog', 'logit'] as const)('gives the exact limit for a group without events: %s', (link) => {
    // Against a group so large that its own risk is known, 0 of 30 rules out a risk of 1 − 0.05^(1/30) and more at 95 % (Hanley & Lippman-Hand 1983).
    const data = grouped(
      [
        [[1, 0], 2e6, 1e7],
        [[1, 1], 0, 30],
      ],
      ['level', 'group'],
    );
    const fit = value(fitBinary(data, { link, covariance: 'model' }));
    const found = coefficient(fit, 1);
    if (found.kind !== 'limit') throw new Error('a limit was expected');
    expect(found.side).toBe('below');
    expect(found.limit).toBeCloseTo(linkOf(link, 1 - 0.05 ** (1 / 30)) - linkOf(link, 0.2), 5);
    expect(coefficient(fit, 0)).toMatchObject({ kind: 'estimated', term: 'level' });
    expect(fit.theta[0]).toBeCloseTo(linkOf(link, 0.2), 6);
  });

  it('gives the exact limit for a group with nothing but events', () => {
    const data = grouped(
      [
        [[1, 0], 2e6, 1e7],
        [[1, 1], 30, 30],
      ],
      ['level', 'group'],
    );
    const found = coefficient(value(fitBinary(data, { link: 'logit', covariance: 'model' })), 1);
    if (found.kind !== 'limit') throw new Error('a limit was expected');
    expect(found.side).toBe('above');
    expect(found.limit).toBeCloseTo(linkOf('logit', 0.05 ** (1 / 30)) - linkOf('logit', 0.2), 5);
  });

  it('gives limits for two groups without events', () => {
    const data = grouped(
      [
        [[1, 0, 0], 10, 50],
        [[1, 1, 0], 0, 30],
        [[1, 0, 1], 0, 60],
      ],
      ['level', 'b', 'c'],
    );
    const fit = value(fitBinary(data, { covariance: 'model' }));
    const limits = [1, 2].map((j) => coefficient(fit, j));
    expect(limits.map(({ kind }) => kind)).toEqual(['limit', 'limit']);
    expect((limits[1] as { limit: number }).limit - (limits[0] as { limit: number }).limit).toBeCloseTo(
      -Math.log(2),
      3,
    );
  });

  it('gives a limit that is no tighter when every cluster only repeats its rows', () => {
    const shares = [1, 9, 0, 8, 2, 10, 3, 7];
    const limitOf = (times: number) => {
      const data = grouped(
        [
          ...shares.map((y) => [[1, 0], y * times, 10 * times] as [number[], number, number]),
          ...shares.map(() => [[1, 1], 0, 10 * times] as [number[], number, number]),
        ],
        ['level', 'group'],
      );
      const found = coefficient(value(fitBinary(data)), 1);
      if (found.kind !== 'limit') throw new Error('a limit was expected');
      return found.limit;
    };
    expect(limitOf(3)).toBeCloseTo(limitOf(1), 5);
  });

  it('detects separation along a covariate', () => {
    const data = grouped(
      [
        [[1, 1], 0, 9],
        [[1, 2], 0, 9],
        [[1, 3], 9, 9],
        [[1, 4], 9, 9],
      ],
      ['level', 'dose'],
    );
    expectReason(fitBinary(data, { link: 'logit', covariance: 'model' }), 'no-overlap');
    expectReason(fitBinary(data, { covariance: 'model' }), 'no-overlap');
  });

  it('says why where the data cannot answer', () => {
    expectReason(fitBinary(grouped([], ['a'])), 'no-rows');
    expectReason(fitBinary(grouped([[[1], 0, 20]], ['a'])), 'no-events');
    expectReason(fitBinary(grouped([[[1], 20, 20]], ['a'])), 'all-events');
    expectReason(fitBinary(grouped([[[1], 1, 1]], ['a'])), 'all-events');
    expectReason(fitBinary(grouped([[[1], 6, 20]], ['a'])), 'one-cluster');
    expectReason(
      fitBinary(
        grouped(
          [
            [[1, 2], 6, 20],
            [[1, 2], 3, 20],
          ],
          ['a', 'b'],
        ),
      ),
      'collinear',
    );
    expectReason(
      fitBinary(
        grouped(
          [
            [[1, 0], 0, 20],
            [[1, 1], 3, 20],
          ],
          ['a', 'b'],
        ),
        { covariance: 'model' },
      ),
      'no-overlap',
    );
  });

  it('throws on an event that is neither 0 nor 1', () => {
    const data = { event: [0, 2], x: Float64Array.of(1, 1), terms: ['a'], cluster: [1, 2] };
    expect(() => fitBinary(data)).toThrow('event must be 0 or 1: 2 in row 1');
  });
});

describe('links', () => {
  it.each(['cloglog', 'logit'] as const)('%s goes there and back, with its slope', (link) => {
    for (const p of [1e-6, 0.2, 0.5, 0.97]) {
      const eta = linkOf(link, p);
      expect(inverseLink(link, eta) / p).toBeCloseTo(1, 10);
      const slope = (inverseLink(link, eta + 1e-5) - inverseLink(link, eta - 1e-5)) / 2e-5;
      expect(inverseLinkSlope(link, eta) / slope).toBeCloseTo(1, 6);
    }
  });
});
