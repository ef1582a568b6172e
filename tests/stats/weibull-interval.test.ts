import { describe, expect, it } from 'vitest';
import { isUnavailable, type Outcome } from '../../src/core/outcome.ts';
import { chiSquareQuantile } from '../../src/stats/distributions.ts';
import { numericGradient } from '../../src/stats/optimise.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { type WeibullData, weibullInterval, weibullShareBy } from '../../src/stats/weibull-interval.ts';
import { weibullDerivatives, weibullScores } from '../../src/stats/weibull-likelihood.ts';
import { kernelRows } from '../../src/stats/weibull-rows.ts';
import reference from '../reference/time-to-return.json';

const I = Number.POSITIVE_INFINITY;

function computed<T>(outcome: Outcome<T>): T {
  if (isUnavailable(outcome)) throw new Error(`expected an estimate: ${outcome.sentence}`);
  return outcome;
}

type Row = readonly [left: number, right: number, ...x: number[]];

function dataOf(
  rows: readonly Row[],
  terms: readonly string[] = [],
  cluster?: readonly number[],
): WeibullData {
  return {
    left: Float64Array.from(rows, (r) => r[0]),
    right: Float64Array.from(rows, (r) => r[1]),
    x: Float64Array.from(rows.flatMap((r) => r.slice(2))),
    terms,
    ...(cluster ? { cluster: Int32Array.from(cluster) } : {}),
  };
}

const repeat = (row: Row, times: number) => Array.from({ length: times }, () => row);

const { input } = reference;
const TERMS = ['wet', 'kind1', 'kind2', 'age'] as const;
const end = (value: number | string) => (value === 'Inf' ? I : Number(value));
const rows: Row[] = input.left.map((left, i) => [
  left,
  end(input.right[i]!),
  ...TERMS.map((term) => input[term][i]!),
]);

function relative(found: number, expected: number, tolerance: number) {
  expect(Math.abs(found - expected)).toBeLessThan(tolerance * Math.abs(expected));
}

describe('against R survival 3.5-3, survreg(type = "interval2") on 240 rows in 60 clusters', () => {
  const plain = computed(weibullInterval(dataOf(rows, TERMS)));
  const { weibull, weibullEmpty } = reference;

  it('agrees on coefficients, scale, log-likelihood and standard errors', () => {
    relative(plain.logTimeIntercept.estimate, weibull.coefficients[0]!, 1e-8);
    relative(plain.logTimeIntercept.stdError!, weibull.stdErrors[0]!, 1e-7);
    plain.terms.forEach(({ term, logTimeRatio }, j) => {
      expect(term).toBe(TERMS[j]);
      // Absolute beside relative, for the coefficient of age that is nearly 0.
      expect(logTimeRatio.estimate).toBeCloseTo(weibull.coefficients[j + 1]!, 9);
      relative(logTimeRatio.stdError!, weibull.stdErrors[j + 1]!, 1e-7);
    });
    expect(-Math.log(plain.shape.estimate)).toBeCloseTo(weibull.logScale, 9);
    relative(plain.shape.stdError! / plain.shape.estimate, weibull.stdErrors[5]!, 1e-7);
    expect(plain.logLikelihood).toBeCloseTo(weibull.logLikelihood, 8);
    expect(plain).toMatchObject({ n: 240, nExact: 12, nClusters: null, silent: [] });
  });

  it('agrees without terms', () => {
    const empty = computed(weibullInterval(dataOf(rows.map(([l, r]) => [l, r]))));
    expect(empty.logTimeIntercept.estimate).toBeCloseTo(weibullEmpty.coefficients[0]!, 9);
    expect(empty.logLikelihood).toBeCloseTo(weibullEmpty.logLikelihood, 8);
    relative(empty.logTimeIntercept.stdError!, weibullEmpty.stdErrors[0]!, 1e-7);
  });

  it('agrees on clustered standard errors with scores differentiated numerically', () => {
    // Not with survreg's own: its log-scale score has the wrong sign in rows of a proper interval, as the script
    // shows (turning the sign reproduces survreg's residuals to 1e-9).
    expect(weibull.dfbetaOffOnceSignIsTurned).toBeLessThan(1e-8);
    const robust = computed(weibullInterval(dataOf(rows, TERMS, input.cluster), { smallSample: 'none' }));
    expect(robust.nClusters).toBe(60);
    const errors = [
      robust.logTimeIntercept.stdError!,
      ...robust.terms.map((t) => t.logTimeRatio.stdError!),
      robust.shape.stdError! / robust.shape.estimate,
    ];
    for (const [j, error] of errors.entries()) relative(error, weibull.clusteredStdErrors[j]!, 1e-7);
    const corrected = computed(weibullInterval(dataOf(rows, TERMS, input.cluster)));
    relative(corrected.shape.stdError!, robust.shape.stdError! * Math.sqrt(60 / 59), 1e-9);
  });

  it('agrees on the share by day 90', () => {
    const share = weibullShareBy(plain, 90, Float64Array.from([1, 0, 1, 10]));
    expect(share.estimate).toBeCloseTo(weibull.share90, 9);
    expect(share.low).toBeLessThan(share.estimate);
    expect(share.high).toBeGreaterThan(share.estimate);
  });

  it('agrees on the one-sided profile limit of a level without events', () => {
    const silentRows = rows.map(
      ([l, r, wet, , , age]): Row => [wet ? Math.max(1, l) : l, wet ? I : r, wet!, age!],
    );
    const fit = computed(weibullInterval(dataOf(silentRows, ['wet', 'age'])));
    expect(fit.terms.map((t) => t.term)).toEqual(['age']);
    expect(fit.logLikelihood).toBeCloseTo(reference.silent.logLikelihood, 8);
    expect(fit.silent).toMatchObject([{ term: 'wet', direction: 'below', nRows: 108, inflation: 1 }]);
    expect(fit.silent[0]!.limit).toBeCloseTo(reference.silent.limit, 5);
  });
});

describe('cases worked by hand', () => {
  // Looks at 10 and at 40 only: H(10) = −log(1 − 20/100), H(40) = −log(1 − 60/100), two unknowns, two equations.
  const twoLooks = [
    ...repeat([0, 10], 20),
    ...repeat([10, I], 80),
    ...repeat([0, 40], 60),
    ...repeat([40, I], 40),
  ];

  it('solves two looks exactly', () => {
    const fit = computed(weibullInterval(dataOf(twoLooks)));
    const shape = Math.log(Math.log(0.4) / Math.log(0.8)) / Math.log(4);
    expect(fit.shape.estimate).toBeCloseTo(shape, 9);
    expect(weibullShareBy(fit, 10, new Float64Array(0)).estimate).toBeCloseTo(0.2, 9);
    expect(weibullShareBy(fit, 40, new Float64Array(0)).estimate).toBeCloseTo(0.6, 9);
    // Saturated, so the standard error of the share at a look is the binomial one.
    expect(weibullShareBy(fit, 10, new Float64Array(0)).stdError).toBeCloseTo(
      Math.sqrt((0.2 * 0.8) / 100),
      9,
    );
    expect(fit.logLikelihood).toBeCloseTo(
      20 * Math.log(0.2) + 80 * Math.log(0.8) + 60 * Math.log(0.6) + 40 * Math.log(0.4),
      9,
    );
  });

  it('reads one model both ways: log hazard ratio = −shape × log time ratio', () => {
    const fit = computed(weibullInterval(dataOf(rows, TERMS)));
    for (const { logTimeRatio, logHazardRatio } of fit.terms) {
      expect(logHazardRatio.estimate).toBeCloseTo(-fit.shape.estimate * logTimeRatio.estimate, 10);
    }
  });

  it('has the derivatives that it says', () => {
    const kernel = kernelRows(dataOf(rows, TERMS), Array.from(rows.keys()), [0, 1, 3], Math.log(100));
    const theta = Float64Array.from([-0.4, 0.3, -0.2, 0.01, 1.2]);
    const { gradient, hessian } = weibullDerivatives(kernel, theta);
    const numeric = numericGradient((t) => weibullDerivatives(kernel, t).value, theta);
    gradient.forEach((g, a) => {
      relative(g, numeric[a]!, 1e-7);
      const second = numericGradient((t) => weibullDerivatives(kernel, t).gradient[a]!, theta);
      second.forEach((h, b) => {
        relative(hessian[a * 5 + b]!, h, 1e-6);
      });
    });
    const scores = weibullScores(kernel, theta);
    gradient.forEach((g, a) => {
      relative(
        rows.reduce((sum, _, i) => sum + scores[i * 5 + a]!, 0),
        g,
        1e-10,
      );
    });
  });

  it('stays finite where hazards are tiny, huge, or an interval is narrow', () => {
    const odd = dataOf([
      [0, 1e-8],
      [1e6, I],
      [99.9999999, 100],
      [1e-9, 1e7],
    ]);
    const kernel = kernelRows(odd, [0, 1, 2, 3], [], Math.log(100));
    for (const theta of [
      [0, 1],
      [-40, 3],
      [40, 3],
    ]) {
      const at = weibullDerivatives(kernel, Float64Array.from(theta));
      expect([at.value, ...at.gradient, ...at.hessian].every(Number.isFinite)).toBe(true);
    }
  });
});

describe('what must not matter, and what must', () => {
  const fit = computed(weibullInterval(dataOf(rows, TERMS, input.cluster), { smallSample: 'none' }));
  const numbers = (f: typeof fit) =>
    f.terms.flatMap(({ logTimeRatio: t, logHazardRatio: h }) => [
      t.estimate,
      t.stdError,
      h.estimate,
      h.stdError,
    ]);
  const closeTo = (values: (number | null)[], digits = 8) => values.map((v) => expect.closeTo(v!, digits));

  it('row order and cluster names do not', () => {
    const order = seededRandom(9).shuffle(Array.from(rows.keys()));
    const moved = computed(
      weibullInterval(
        dataOf(
          order.map((i) => rows[i]!),
          TERMS,
          order.map((i) => 5000 - 3 * input.cluster[i]!),
        ),
        { smallSample: 'none' },
      ),
    );
    expect(numbers(moved)).toEqual(closeTo(numbers(fit)));
  });

  it('the unit of time moves the intercept by its logarithm and nothing else', () => {
    const weeks = rows.map(([l, r, ...x]): Row => [l / 7, r / 7, ...x]);
    const scaled = computed(weibullInterval(dataOf(weeks, TERMS, input.cluster), { smallSample: 'none' }));
    expect(numbers(scaled)).toEqual(closeTo(numbers(fit)));
    expect(scaled.shape.estimate).toBeCloseTo(fit.shape.estimate, 8);
    expect(scaled.logTimeIntercept.estimate).toBeCloseTo(fit.logTimeIntercept.estimate - Math.log(7), 8);
    expect(scaled.logTimeIntercept.stdError).toBeCloseTo(fit.logTimeIntercept.stdError!, 8);
    const x = Float64Array.from([0, 1, 0, 8]);
    const [a, b] = [weibullShareBy(scaled, 10, x), weibullShareBy(fit, 70, x)];
    expect([a.estimate, a.low, a.high]).toEqual(closeTo([b.estimate, b.low, b.high]));
  });

  it('the unit of a covariate scales its coefficient', () => {
    const months = rows.map(([l, r, wet, k1, k2, age]): Row => [l, r, wet!, k1!, k2!, age! * 12]);
    const scaled = computed(weibullInterval(dataOf(months, TERMS)));
    expect(scaled.terms[3]!.logTimeRatio.stdError! * 12).toBeCloseTo(
      fitPlain.terms[3]!.logTimeRatio.stdError!,
      8,
    );
  });
  const fitPlain = computed(weibullInterval(dataOf(rows, TERMS)));

  it('twice the clusters divide clustered errors by √2; the same rows twice within a cluster do not', () => {
    const both = [...rows, ...rows];
    const apart = [...input.cluster, ...input.cluster.map((c) => c + 1000)];
    const together = [...input.cluster, ...input.cluster];
    const more = computed(weibullInterval(dataOf(both, TERMS, apart), { smallSample: 'none' }));
    const same = computed(weibullInterval(dataOf(both, TERMS, together), { smallSample: 'none' }));
    fit.terms.forEach(({ logTimeRatio }, j) => {
      expect(more.terms[j]!.logTimeRatio.stdError).toBeCloseTo(logTimeRatio.stdError! / Math.SQRT2, 8);
      expect(same.terms[j]!.logTimeRatio.stdError).toBeCloseTo(logTimeRatio.stdError!, 8);
      expect(same.terms[j]!.logTimeRatio.estimate).toBeCloseTo(logTimeRatio.estimate, 8);
    });
  });

  it('weights count as repeated rows', () => {
    const weight = Float64Array.from(rows, (_, i) => 1 + (i % 3));
    const repeated = rows.flatMap((row, i) => repeat(row, 1 + (i % 3)));
    const clusters = rows.flatMap((_, i) => Array.from({ length: 1 + (i % 3) }, () => input.cluster[i]!));
    const weighted = computed(weibullInterval({ ...dataOf(rows, TERMS, input.cluster), weight }));
    const long = computed(weibullInterval(dataOf(repeated, TERMS, clusters)));
    expect(numbers(weighted)).toEqual(closeTo(numbers(long)));
    expect(weighted.logLikelihood).toBeCloseTo(long.logLikelihood, 7);
  });

  it('another level taken as the reference only re-expresses the contrasts', () => {
    const turned = rows.map(([l, r, , k1, k2]): Row => [l, r, 1 - k1! - k2!, k2!]);
    const straight = rows.map(([l, r, , k1, k2]): Row => [l, r, k1!, k2!]);
    const a = computed(weibullInterval(dataOf(turned, ['kind0', 'kind2'])));
    const b = computed(weibullInterval(dataOf(straight, ['kind1', 'kind2'])));
    expect(a.terms[0]!.logHazardRatio.estimate).toBeCloseTo(-b.terms[0]!.logHazardRatio.estimate, 8);
    expect(a.terms[0]!.logHazardRatio.stdError).toBeCloseTo(b.terms[0]!.logHazardRatio.stdError!, 8);
    expect(a.logLikelihood).toBeCloseTo(b.logLikelihood, 8);
  });
});

describe('a level without events', () => {
  const base: Row[] = [
    ...repeat([0, 30, 0], 6),
    ...repeat([30, 60, 0], 9),
    ...repeat([60, 110, 0], 7),
    ...repeat([110, I, 0], 12),
  ];
  const silent = (row: Row, times: number) => {
    const all = [...base, ...repeat(row, times)];
    return computed(weibullInterval(dataOf(all, ['level'])));
  };

  it('gets a one-sided limit that falls as more is followed, and no estimate or error', () => {
    const few = silent([90, I, 1], 5);
    const many = silent([90, I, 1], 20);
    expect(few.terms).toEqual([]);
    expect(few.silent[0]).not.toHaveProperty('stdError');
    expect(many.silent[0]!.limit!).toBeLessThan(few.silent[0]!.limit!);
    expect(Math.abs(many.silent[0]!.limit!)).toBeLessThan(8);
    expect(few.shape.estimate).toBeCloseTo(many.shape.estimate, 9);
  });

  it('stands where the profile has fallen by half the one-sided quantile, by a search over a grid', () => {
    const fit = silent([90, I, 1], 10);
    const kernel = kernelRows(
      dataOf([...base, ...repeat([90, I, 1], 10)], ['level']),
      Array.from({ length: base.length + 10 }, (_, i) => i),
      [0],
      0,
    );
    let profile = Number.NEGATIVE_INFINITY;
    for (let a = -0.5; a <= 0.5; a += 0.01) {
      for (let b = -0.2; b <= 0.2; b += 0.002) {
        const theta = Float64Array.from([fit.theta[0]! + a, fit.silent[0]!.limit!, fit.theta[1]! + b]);
        profile = Math.max(profile, weibullDerivatives(kernel, theta).value);
      }
    }
    expect(2 * (fit.logLikelihood - profile)).toBeCloseTo(chiSquareQuantile(0.9, 1), 2);
  });

  it('mirrors: all had it before the first look', () => {
    const fit = silent([0, 5, 1], 6);
    expect(fit.silent).toMatchObject([{ term: 'level', direction: 'above' }]);
    expect(fit.silent[0]!.limit!).toBeGreaterThan(1);
  });

  it('widens for clusters: four copies of each row in one cluster tell about as much as one', () => {
    const once = [...base, ...repeat([90, I, 1], 10)];
    const copies = once.flatMap((row) => repeat(row, 4));
    const ids = copies.map((_, i) => Math.floor(i / 4));
    const limitOf = (data: WeibullData) => computed(weibullInterval(data)).silent[0]!;
    const clustered = limitOf(dataOf(copies, ['level'], ids));
    const plain = limitOf(dataOf(copies, ['level']));
    const single = limitOf(dataOf(once, ['level']));
    expect(clustered.inflation).toBeGreaterThan(3);
    expect(clustered.inflation).toBeLessThan(5);
    expect(plain.limit!).toBeLessThan(single.limit! - 0.5);
    expect(Math.abs(clustered.limit! - single.limit!)).toBeLessThan(0.25);
  });
});

describe('clusters too few', () => {
  const level = rows.map(([l, r], i): Row => [l, r, input.cluster[i] === 7 ? 1 : 0]);

  it('leave out a level that is one cluster, whose clustered error would be falsely small', () => {
    const fit = computed(weibullInterval(dataOf(level, ['level'], input.cluster)));
    expect(fit.lone).toEqual(['level']);
    expect(fit.terms).toEqual([]);
    const without = rows.filter((_, i) => input.cluster[i] !== 7).map(([l, r]): Row => [l, r]);
    const ids = input.cluster.filter((c) => c !== 7);
    expect(fit.shape.estimate).toBeCloseTo(
      computed(weibullInterval(dataOf(without, [], ids))).shape.estimate,
      8,
    );
    expect(computed(weibullInterval(dataOf(level, ['level']))).lone).toEqual([]);
  });

  it('leave it out too where all but one cluster have the level', () => {
    const turned = level.map(([l, r, x]): Row => [l, r, 1 - x!]);
    expect(computed(weibullInterval(dataOf(turned, ['level'], input.cluster))).lone).toEqual(['level']);
  });

  it('refuse as many figures as clusters', () => {
    const three = weibullInterval(
      dataOf(
        rows,
        TERMS,
        input.cluster.map((c) => c % 6),
      ),
    );
    expect(three).toMatchObject({
      unavailable: 'one-cluster',
      sentence: expect.stringContaining('6 groups'),
    });
  });
});

describe('hard cases', () => {
  const spread: Row[] = [
    ...repeat([0, 30], 4),
    ...repeat([30, 60], 5),
    ...repeat([60, 90], 3),
    ...repeat([90, I], 6),
  ];
  const reasonOf = (data: WeibullData) => {
    const outcome = weibullInterval(data);
    return isUnavailable(outcome) ? outcome.unavailable : 'computed';
  };

  it('ends each in a sentence', () => {
    expect(reasonOf(dataOf([]))).toBe('no-rows');
    expect(reasonOf(dataOf([[0, I]]))).toBe('no-rows');
    expect(reasonOf(dataOf(repeat([40, I], 8)))).toBe('no-events');
    expect(reasonOf(dataOf([...repeat([0, 40], 8), ...repeat([0, 60], 3)]))).toBe('all-events');
    expect(reasonOf(dataOf([...repeat([0, 28], 8), ...repeat([28, I], 5)]))).toBe('equal-intervals');
    expect(reasonOf(dataOf([[20, 40]]))).toBe('not-converged');
    expect(reasonOf(dataOf(repeat([20, 40], 30)))).toBe('not-converged');
    expect(reasonOf(dataOf(spread))).toBe('computed');
    expect(
      reasonOf(
        dataOf(
          spread,
          [],
          spread.map(() => 7),
        ),
      ),
    ).toBe('one-cluster');
  });

  it('names columns that do not vary on their own', () => {
    const doubled = spread.map((row, i): Row => [...row, i % 2, 3 * (i % 2)]);
    const outcome = weibullInterval(dataOf(doubled, ['first', 'second']));
    expect(outcome).toMatchObject({ unavailable: 'collinear', sentence: expect.stringContaining('second') });
    const constant = spread.map((row): Row => [...row, 1]);
    expect(reasonOf(dataOf(constant, ['always']))).toBe('collinear');
  });

  it('gives no number where the reference level has no event', () => {
    const rowsOf = [...repeat([90, I, 0], 12), ...spread.map((row): Row => [...row, 1])];
    expect(reasonOf(dataOf(rowsOf, ['level']))).toBe('not-converged');
  });

  it('rejects what is no data', () => {
    expect(() => weibullInterval(dataOf([[0, 0]]))).toThrow(/right must be above 0/);
    expect(() => weibullInterval(dataOf([[0, 5, Number.NaN]], ['a']))).toThrow(/x must be finite/);
    expect(() => weibullInterval(dataOf([[0, 5]], ['a']))).toThrow(/x must hold 1 × 1/);
    expect(() => weibullShareBy(computed(weibullInterval(dataOf(spread))), 0, new Float64Array(0))).toThrow(
      /t must/,
    );
  });
});

it('recovers the truth from looks alone, on average over 30 herds', () => {
  const truth = { shape: 1.5, ratio: 0.6 };
  const sums = { shape: 0, ratio: 0, covered: 0 };
  const herds = 30;
  for (let seed = 1; seed <= herds; seed += 1) {
    const random = seededRandom(seed);
    const herd = Array.from({ length: 300 }, (_, i): Row => {
      const x = i % 2;
      const time = (random.exponential() / Math.exp(-8 + truth.ratio * x)) ** (1 / truth.shape);
      let left = 0;
      for (let looks = 0; looks < 9; looks += 1) {
        const next = left + random.integer(28, 70);
        if (time <= next) return [left, next, x];
        left = next;
      }
      return [left, I, x];
    });
    const fit = computed(weibullInterval(dataOf(herd, ['x'])));
    const { estimate, low, high } = fit.terms[0]!.logHazardRatio;
    sums.shape += fit.shape.estimate / herds;
    sums.ratio += estimate / herds;
    if (low <= truth.ratio && truth.ratio <= high) sums.covered += 1;
  }
  // Standard error of a mean over 30 herds: about .016 for the shape and .024 for the log ratio.
  expect(Math.abs(sums.shape - truth.shape)).toBeLessThan(0.06);
  expect(Math.abs(sums.ratio - truth.ratio)).toBeLessThan(0.09);
  expect(sums.covered).toBeGreaterThanOrEqual(25);
});
