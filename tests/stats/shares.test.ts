import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Estimate, isUnavailable, type Outcome } from '../../src/core/outcome.ts';
import { clusteredContrast, clusteredShare } from '../../src/stats/design-effect.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { newcombeDifference, wilsonInterval } from '../../src/stats/wilson.ts';
import reference from '../reference/shares-and-strata.json' with { type: 'json' };

const got = <T>(outcome: Outcome<T>): T => {
  if (isUnavailable(outcome)) throw new Error(outcome.sentence);
  return outcome;
};
const near = (actual: number, expected: number, tolerance = 1e-9) =>
  expect(Math.abs(actual - expected), `${actual} for ${expected}`).toBeLessThan(
    tolerance * Math.max(1, Math.abs(expected)),
  );
const outcomes = (rows: [number, number][]) => ({
  success: Uint8Array.from(rows, ([y]) => y),
  cluster: Int32Array.from(rows, ([, g]) => g),
});

describe('wilsonInterval', () => {
  // Newcombe 1998, Stat Med 17:857–872, table I; digits from R 4.2.2 prop.test(x, n, correct = FALSE).
  it.each([
    [81, 263, 0.255288519878, 0.366209576983],
    [15, 148, 0.0623863995307, 0.160487241723],
    [0, 20, 0, 0.161125158053],
    [1, 29, 0.00611321429276, 0.171755218793],
    [20, 20, 0.838874841947, 1],
  ])('%i of %i', (x, n, low, high) => {
    const found = wilsonInterval(x, n);
    near(found.low, low, 1e-11);
    near(found.high, high, 1e-11);
    if (x === 0) expect(found.low).toBe(0);
    if (x === n) expect(found.high).toBe(1);
  });

  it('holds the share, mirrors itself and narrows as n grows', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 500 }), fc.double({ min: 0, max: 1, noNaN: true }), (n, at) => {
        const x = Math.round(at * n);
        const found = wilsonInterval(x, n);
        const mirrored = wilsonInterval(n - x, n);
        expect(found.low).toBeLessThanOrEqual(found.estimate);
        expect(found.high).toBeGreaterThanOrEqual(found.estimate);
        near(found.low, 1 - mirrored.high, 1e-12);
        const more = wilsonInterval(4 * x, 4 * n);
        expect(more.high - more.low).toBeLessThan(found.high - found.low);
      }),
    );
  });

  it('rejects what is not a share', () => {
    expect(() => wilsonInterval(3, 2)).toThrow('successes must lie between 0 and 2: 3');
    expect(() => wilsonInterval(0, 0)).toThrow('n must be positive: 0');
    expect(() => wilsonInterval(Number.NaN, 5)).toThrow(/successes/);
  });
});

describe('newcombeDifference', () => {
  // Newcombe 1998, Stat Med 17:873–890, table II, method 10; from memory.
  it.each([
    [56, 70, 48, 80, 0.0524, 0.3339],
    [9, 10, 3, 10, 0.1705, 0.809],
    [6, 7, 2, 7, 0.0582, 0.8062],
    [10, 10, 0, 10, 0.6075, 1],
  ])('%i/%i less %i/%i', (x1, n1, x2, n2, low, high) => {
    const found = newcombeDifference(wilsonInterval(x1, n1), wilsonInterval(x2, n2));
    expect(found.low).toBeCloseTo(low, 4);
    expect(found.high).toBeCloseTo(high, 4);
  });
});

describe('clusteredShare', () => {
  const rows = reference.rows.y.map((y, i): [number, number] => [y, reference.rows.cluster[i]!]);

  it('has the share and standard error of R survey (made by tests/reference/shares-and-strata.R)', () => {
    const found = got(clusteredShare(outcomes(rows)));
    near(found.estimate, reference.share[0]!);
    near(found.stdError!, reference.share[1]!);
    expect(found.designEffect).toBeGreaterThan(1);
    near(found.effectiveN, found.n / found.designEffect!);
  });

  it('by hand: clusters that agree within themselves count once each', () => {
    // Shares 1, 1, 0, 0 in four clusters of 3: variance 4/3 · Σ(3·0.5)²/144 = 4/3 · 9/144 = 1/12; simple variance
    // 0.25/12, so the design effect is 4 and 12 rows say as much as 3.
    const found = got(
      clusteredShare(
        outcomes([0, 1, 2, 3].flatMap((g) => [0, 1, 2].map((): [number, number] => [g < 2 ? 1 : 0, g]))),
      ),
    );
    near(found.designEffect!, 4);
    near(found.effectiveN, 3);
    near(found.stdError!, Math.sqrt(1 / 12));
  });

  it('takes a row of weight 3 for three rows', () => {
    const [success, cluster] = [Uint8Array.of(1, 0, 1, 0), Int32Array.of(1, 1, 2, 3)];
    const weight = Float64Array.of(3, 1, 2, 4);
    const each = Array.from(weight).flatMap((times, row) =>
      Array.from({ length: times }, (): [number, number] => [success[row]!, cluster[row]!]),
    );
    const [found, told] = [
      got(clusteredShare({ success, cluster, weight })),
      got(clusteredShare(outcomes(each))),
    ];
    expect(found.n).toBe(10);
    near(found.estimate, told.estimate);
    near(found.stdError!, told.stdError!);
    near(found.effectiveN, told.effectiveN);
    expect(() => clusteredShare({ success, cluster, weight: Float64Array.of(1) })).toThrow(
      'weight must hold 4 values: 1',
    );
  });

  it('is never taken for surer than independent rows', () => {
    // Each cluster has one of each: the clusters' shares do not differ at all.
    const found = got(
      clusteredShare(
        outcomes(
          [1, 2, 3, 4].flatMap((g): [number, number][] => [
            [1, g],
            [0, g],
          ]),
        ),
      ),
    );
    near(found.designEffect!, 0);
    near(found.effectiveN, 8);
    near(found.stdError!, Math.sqrt(0.25 / 8));
  });

  it('does not depend on row order or on what clusters are called', () => {
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const turned = seededRandom(seed)
          .shuffle(rows)
          .map(([y, g]): [number, number] => [y, 1000 - 7 * g]);
        const [a, b] = [got(clusteredShare(outcomes(turned))), got(clusteredShare(outcomes(rows)))];
        near(a.low, b.low, 1e-10);
        near(a.high, b.high, 1e-10);
      }),
      { numRuns: 10 },
    );
  });

  it('copying every row within its cluster adds nothing; a second herd alike shrinks the error by √2', () => {
    const base = got(clusteredShare(outcomes(rows)));
    const copied = got(clusteredShare(outcomes([...rows, ...rows])));
    near(copied.stdError!, base.stdError!);
    near(copied.effectiveN, base.effectiveN, 1e-9);
    const twin = got(
      clusteredShare(outcomes([...rows, ...rows.map(([y, g]): [number, number] => [y, g + 100])])),
    );
    const g = base.nClusters;
    near(
      twin.stdError! * Math.SQRT2 * Math.sqrt((2 * g - 1) / (2 * g)),
      base.stdError! * Math.sqrt((g - 1) / g),
    );
  });

  it('covers the true share about as often as it claims where rows are strongly alike', () => {
    let [covered, naive] = [0, 0];
    const herds = 400;
    const truth = 0.2;
    for (let seed = 0; seed < herds; seed++) {
      const random = seededRandom(100 + seed);
      const drawn = Array.from({ length: 40 }, (_, g) => {
        // Beta-binomial by a two-point mixture with mean 0.2.
        const p = random.uniform() < 0.3 ? 0.5 : (truth - 0.15) / 0.7;
        return Array.from({ length: 12 }, (): [number, number] => [random.uniform() < p ? 1 : 0, g]);
      }).flat();
      const found = got(clusteredShare(outcomes(drawn)));
      if (found.low <= truth && truth <= found.high) covered++;
      const plain = wilsonInterval(
        drawn.reduce((s, [y]) => s + y, 0),
        drawn.length,
      );
      if (plain.low <= truth && truth <= plain.high) naive++;
    }
    expect(covered / herds).toBeGreaterThan(0.92);
    expect(covered / herds).toBeLessThan(0.985);
    expect(naive / herds).toBeLessThan(0.85); // what counting rows as independent would have given
  });

  it('hard cases', () => {
    expect(clusteredShare(outcomes([]))).toMatchObject({ unavailable: 'no-rows' });
    expect(
      clusteredShare(
        outcomes([
          [1, 5],
          [0, 5],
        ]),
      ),
    ).toMatchObject({ unavailable: 'one-cluster' });
    const none = got(
      clusteredShare(
        outcomes([
          [0, 1],
          [0, 1],
          [0, 2],
          [0, 2],
          [0, 3],
        ]),
      ),
    );
    expect(none.low).toBe(0);
    expect(none.designEffect).toBeNull();
    expect(none.stdError).toBeNull();
    expect(none.effectiveN).toBe(3); // three clusters, not five rows
    expect(none.high).toBeGreaterThan(wilsonInterval(0, 3).high);
    expect(() => clusteredShare({ success: Uint8Array.of(2), cluster: Int32Array.of(1) })).toThrow(
      'success must be 0 or 1: 2',
    );
    expect(() => clusteredShare({ success: Uint8Array.of(1), cluster: Int32Array.of() })).toThrow(
      /cluster must hold 1/,
    );
  });
});

describe('clusteredContrast', () => {
  const part = (group: number) =>
    outcomes(
      reference.rows.y
        .map((y, i): [number, number, number] => [y, reference.rows.cluster[i]!, reference.rows.group[i]!])
        .filter(([, , g]) => g === group)
        .map(([y, c]): [number, number] => [y, c]),
    );

  it('has the difference and log ratio of R survey, with their standard errors', () => {
    const found = got(clusteredContrast(part(1), part(0)));
    near(found.difference.estimate, reference.difference[0]!);
    near(found.difference.stdError!, reference.difference[1]!);
    const ratio = found.ratio as Estimate;
    near(Math.log(ratio.estimate), reference.logRatio[0]!);
    near(ratio.stdError! / ratio.estimate, reference.logRatio[1]!);
    near(Math.sqrt(ratio.low * ratio.high), ratio.estimate);
  });

  it('turns round when the groups are swapped', () => {
    const [one, two] = [got(clusteredContrast(part(1), part(0))), got(clusteredContrast(part(0), part(1)))];
    near(one.difference.low, -two.difference.high);
    near(one.ratio!.low, 1 / two.ratio!.high);
  });

  it('hard cases', () => {
    expect(clusteredContrast(part(1), outcomes([]))).toMatchObject({ unavailable: 'no-rows' });
    expect(clusteredContrast(outcomes([[1, 1]]), outcomes([[0, 1]]))).toMatchObject({
      unavailable: 'one-cluster',
    });
    expect(clusteredContrast(outcomes([[0, 1]]), outcomes([[0, 2]]))).toMatchObject({
      unavailable: 'no-events',
    });
    expect(clusteredContrast(outcomes([[1, 1]]), outcomes([[1, 2]]))).toMatchObject({
      unavailable: 'all-events',
    });
    expect(
      got(
        clusteredContrast(
          outcomes([
            [0, 1],
            [0, 2],
          ]),
          outcomes([
            [1, 1],
            [0, 2],
          ]),
        ),
      ).ratio,
    ).toBeNull();
  });
});
