import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isUnavailable, type Outcome } from '../../src/core/outcome.ts';
import { kaplanMeier, stepAt } from '../../src/stats/kaplan-meier.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { quantileBetween, shareBy, type TurnbullFit, turnbull } from '../../src/stats/turnbull.ts';
import reference from '../reference/time-to-return.json';

const I = Number.POSITIVE_INFINITY;

function intervals(pairs: readonly (readonly [number, number])[]) {
  return { left: Float64Array.from(pairs, (p) => p[0]), right: Float64Array.from(pairs, (p) => p[1]) };
}

function computed<T>(outcome: Outcome<T>): T {
  if (isUnavailable(outcome)) throw new Error(`expected an estimate: ${outcome.unavailable}`);
  return outcome;
}

const fitOf = (pairs: readonly (readonly [number, number])[]) => computed(turnbull(intervals(pairs)));
const masses = (fit: TurnbullFit, least = 1e-7) =>
  Array.from(fit.mass.keys())
    .filter((j) => fit.mass[j]! > least)
    .map((j) => [fit.low[j]!, fit.high[j]!, fit.mass[j]!] as const);

function expectMasses(fit: TurnbullFit, expected: readonly (readonly number[])[], digits: number) {
  const found = masses(fit);
  expect(found.map(([low, high]) => [low, high])).toEqual(expected.map(([low, high]) => [low, high]));
  found.forEach(([, , mass], j) => {
    expect(mass).toBeCloseTo(expected[j]![2]!, digits);
  });
}

/** Derivatives of the log-likelihood in the mass at each possible place, over n, by brute force. */
function kktGap(fit: TurnbullFit, pairs: readonly (readonly [number, number])[]): number {
  const holds = ([l, r]: readonly [number, number], low: number, high: number) =>
    l === r ? low === l && high === r : high <= r && (low === high ? low > l : low >= l);
  const chance = pairs.map((pair) =>
    fit.mass.reduce((sum, m, j) => sum + (holds(pair, fit.low[j]!, fit.high[j]!) ? m : 0), 0),
  );
  const ends = [...new Set(pairs.flat())].sort((a, b) => a - b);
  const places = [
    ...ends.slice(1).map((t, i) => [ends[i]!, t] as const),
    ...ends.map((t) => [t, t] as const),
  ];
  return Math.max(
    ...places.map(
      ([low, high]) =>
        pairs.reduce((sum, pair, i) => sum + (holds(pair, low, high) ? 1 / chance[i]! : 0), 0) /
          pairs.length -
        1,
    ),
  );
}

describe('published and reference values', () => {
  it('gives the masses of the seven-interval example (Fay & Shaw 2010, J Stat Softw 36(2))', () => {
    const fit = fitOf([
      [2, 3],
      [5, 6],
      [1, 7],
      [1, 7],
      [9, 12],
      [8, 10],
      [10, 13],
    ]);
    expectMasses(
      fit,
      [
        [2, 3, 2 / 7],
        [5, 6, 2 / 7],
        [9, 10, 3 / 14],
        [10, 12, 3 / 14],
      ],
      8,
    );
    expect(fit.logLikelihood).toBeCloseTo(-7.552945, 6);
  });

  // Finkelstein & Wolfe 1985, Biometrics 41:933–945, radiotherapy arm; masses run to a KKT-checked optimum.
  const cosmesis = (
    '45,I 6,10 0,7 46,I 46,I 7,16 17,I 7,14 37,44 0,8 4,11 15,I 11,15 22,I 46,I 46,I 25,37 46,I 26,40 46,I 27,34 ' +
    '36,44 46,I 36,48 37,I 40,I 17,25 46,I 11,18 38,I 5,12 37,I 0,5 18,I 24,I 36,I 5,11 19,35 17,25 24,I 32,I ' +
    '33,I 19,26 37,I 34,I 36,I'
  )
    .split(' ')
    .map((text) => text.split(',').map((end) => (end === 'I' ? I : Number(end))) as [number, number]);

  it('gives the masses of the breast cosmesis trial (Finkelstein & Wolfe 1985)', () => {
    const fit = fitOf(cosmesis);
    expect(fit.n).toBe(46);
    expect(fit.logLikelihood).toBeCloseTo(-58.060022, 6);
    expectMasses(
      fit,
      [
        [4, 5, 0.04634677],
        [6, 7, 0.03336337],
        [7, 8, 0.08866737],
        [11, 12, 0.07075292],
        [24, 25, 0.09264584],
        [33, 34, 0.08178576],
        [38, 40, 0.12087983],
        [46, 48, 0.46555814],
      ],
      6,
    );
    expect(kktGap(fit, cosmesis)).toBeLessThan(1e-6);
  });

  it('agrees with an independent EM in R on 240 intervals, known times among them', () => {
    const end = (value: number | string) => (value === 'Inf' ? I : Number(value));
    const { left, right } = reference.input;
    const fit = computed(
      turnbull({ left: Float64Array.from(left, end), right: Float64Array.from(right, end) }),
    );
    // The EM stopped at a gap of 1e-10 and ours at 1e-8, each times 240 rows.
    expect(fit.logLikelihood).toBeCloseTo(reference.npmle.logLikelihood, 5);
    const slow = {
      low: Float64Array.from(reference.npmle.low, end),
      high: Float64Array.from(reference.npmle.high, end),
      mass: Float64Array.from(reference.npmle.mass),
    };
    for (let t = 10; t < 600; t += 10) {
      expect(shareBy(fit, t).low).toBeCloseTo(shareBy(slow, t).low, 4);
      expect(shareBy(fit, t).high).toBeCloseTo(shareBy(slow, t).high, 4);
    }
  });

  it('is the product-limit estimate where every time is known or right-censored (6-MP, Gehan 1965)', () => {
    const { gehan } = reference;
    const rows = gehan.time
      .map((time, i) => ({ time, event: gehan.event[i]! }))
      .filter((_, i) => !gehan.control[i]);
    const fit = fitOf(rows.map(({ time, event }) => [time, event ? time : I] as const));
    const product = computed(
      kaplanMeier({
        time: Float64Array.from(rows, (r) => r.time),
        event: Uint8Array.from(rows, (r) => r.event),
      }),
    );
    for (const t of [6, 7, 10, 13, 16, 22, 23]) {
      expect(shareBy(fit, t).low).toBeCloseTo(1 - stepAt(product, t)!.survival, 7);
    }
    expect(shareBy(fit, 35).high).toBeCloseTo(1 - 0.4482, 4);
    expect(shareBy(fit, 36).high).toBe(1);
  });
});

describe('cases worked by hand', () => {
  it('puts all mass where two intervals overlap, and says nothing inside it', () => {
    const fit = fitOf([
      [0, 2],
      [1, 3],
    ]);
    expectMasses(fit, [[1, 2, 1]], 12);
    expect(shareBy(fit, 1)).toEqual({ low: 0, high: 0 });
    expect(shareBy(fit, 1.5)).toEqual({ low: 0, high: 1 });
    expect(shareBy(fit, 2)).toEqual({ low: 1, high: 1 });
  });

  it('keeps the masses of intervals that touch apart', () => {
    expectMasses(
      fitOf([
        [1, 2],
        [2, 3],
        [2, 3],
      ]),
      [
        [1, 2, 1 / 3],
        [2, 3, 2 / 3],
      ],
      8,
    );
  });

  it('keeps a known time apart from an interval that opens or closes there', () => {
    // (2, 4] does not hold the known time 2; (1, 2] does.
    expectMasses(
      fitOf([
        [2, 2],
        [2, 4],
      ]),
      [
        [2, 2, 1 / 2],
        [2, 4, 1 / 2],
      ],
      8,
    );
    expectMasses(
      fitOf([
        [2, 2],
        [1, 2],
      ]),
      [[2, 2, 1]],
      8,
    );
  });

  it('bounds quantiles by the interval that they fall in, and by infinity beyond the follow-up', () => {
    const fit = fitOf([
      [0, 1],
      [1, I],
      [2, I],
      [3, 5],
    ]);
    // Masses: (0,1] 1/4, (3,5] 3/4.
    expect(quantileBetween(fit, 0.2)).toEqual({ low: 0, high: 1 });
    expect(quantileBetween(fit, 0.25)).toEqual({ low: 0, high: 1 });
    expect(quantileBetween(fit, 0.5)).toEqual({ low: 3, high: 5 });
    const short = fitOf([
      [0, 1],
      [7, I],
    ]);
    expect(quantileBetween(short, 0.9)).toEqual({ low: 7, high: I });
    expect(shareBy(short, 7)).toEqual({ low: 0.5, high: 0.5 });
    expect(shareBy(short, 8)).toEqual({ low: 0.5, high: 1 });
  });

  it('counts the kinds of rows', () => {
    expect(
      fitOf([
        [0, 4],
        [2, 2],
        [1, 3],
        [5, I],
      ]),
    ).toMatchObject({
      n: 4,
      nEvents: 3,
      nLeftCensored: 1,
      nExact: 1,
      nIntervalCensored: 1,
      nRightCensored: 1,
    });
  });
});

describe('what must not matter, and what must', () => {
  const end = fc.integer({ min: 0, max: 12 });
  const pair = fc
    .tuple(end, fc.oneof(fc.integer({ min: 0, max: 6 }), fc.constant(I)))
    .map(([l, width]) => [l, l + width] as const)
    .filter(([l, r]) => !(l === 0 && r === 0));
  const sample = fc
    .array(pair, { minLength: 2, maxLength: 25 })
    .filter((rows) => rows.some(([, r]) => r < I));

  it('meets the Karush–Kuhn–Tucker conditions at every possible place, checked by brute force', () => {
    fc.assert(
      fc.property(sample, (rows) => {
        const fit = fitOf(rows);
        expect(fit.mass.reduce((a, b) => a + b, 0)).toBeCloseTo(1, 9);
        expect(kktGap(fit, rows)).toBeLessThan(1e-6);
      }),
      { numRuns: 150 },
    );
  });

  it('does not depend on the order of rows, scales with time, and repeats as weights do', () => {
    fc.assert(
      fc.property(sample, fc.integer(), (rows, seed) => {
        const fit = fitOf(rows);
        const shuffled = fitOf(seededRandom(seed).shuffle(rows));
        const weeks = fitOf(rows.map(([l, r]) => [l / 7, r / 7] as const));
        const twice = fitOf([...rows, ...rows]);
        const weighted = computed(
          turnbull({ ...intervals(rows), weight: new Float64Array(rows.length).fill(2) }),
        );
        expect(shuffled.logLikelihood).toBeCloseTo(fit.logLikelihood, 5);
        expect(weeks.logLikelihood).toBeCloseTo(fit.logLikelihood, 5);
        expect(twice.logLikelihood).toBeCloseTo(2 * fit.logLikelihood, 5);
        expect(weighted.logLikelihood).toBeCloseTo(twice.logLikelihood, 9);
        expect(masses(weeks, 1e-3).map(([low]) => low * 7)).toEqual(
          masses(fit, 1e-3).map(([low]) => expect.closeTo(low, 9)),
        );
      }),
      { numRuns: 60 },
    );
  });

  it('ignores rows of weight 0 and rows that say nothing', () => {
    const fit = fitOf([
      [0, 2],
      [1, 4],
      [3, 6],
    ]);
    const padded = computed(
      turnbull({
        ...intervals([
          [0, 2],
          [1, 4],
          [3, 6],
          [5, 9],
        ]),
        weight: Float64Array.from([1, 1, 1, 0]),
      }),
    );
    expect(padded.n).toBe(3);
    expect(padded.logLikelihood).toBeCloseTo(fit.logLikelihood, 9);
    const vague = fitOf([
      [0, 2],
      [1, 4],
      [3, 6],
      [0, I],
    ]);
    expect(vague.logLikelihood).toBeCloseTo(fit.logLikelihood, 7);
  });
});

describe('hard cases', () => {
  it('gives no number without rows or without events, and says which', () => {
    expect(turnbull(intervals([]))).toMatchObject({ unavailable: 'no-rows' });
    expect(
      turnbull(
        intervals([
          [4, I],
          [9, I],
        ]),
      ),
    ).toMatchObject({ unavailable: 'no-events', sentence: expect.stringContaining('does not mean') });
  });

  it('puts everything before the earliest right end where all had happened before the first look', () => {
    expectMasses(
      fitOf([
        [0, 5],
        [0, 3],
        [0, 9],
      ]),
      [[0, 3, 1]],
      12,
    );
  });

  it('handles one row and rows all alike', () => {
    expectMasses(fitOf([[2, 6]]), [[2, 6, 1]], 12);
    expectMasses(fitOf(Array.from({ length: 50 }, () => [28, 56] as const)), [[28, 56, 1]], 12);
  });

  it.each([
    [[Number.NaN, 3], /left must be 0 or more/],
    [[-1, 3], /left must be 0 or more/],
    [[5, 3], /right must not lie before left/],
    [[I, I], /finite/],
  ] as const)('rejects %j as no interval', (pair, message) => {
    expect(() => turnbull(intervals([pair as [number, number]]))).toThrow(message);
  });

  it('says so where the rounds run out', () => {
    const rows = Array.from({ length: 60 }, (_, i) => [i % 17, (i % 17) + 3 + (i % 5)] as const);
    expect(turnbull(intervals(rows), { tolerance: 1e-12, maxIterations: 1 })).toMatchObject({
      unavailable: 'not-converged',
    });
  });
});

it('recovers a known distribution where counting the look as the event does not', () => {
  // T exponential of mean 300; looks 40–80 apart: F(90) = 1 − e^−0.3 = 0.2592.
  const random = seededRandom(11);
  const rows = Array.from({ length: 4000 }, () => {
    const time = random.exponential(1 / 300);
    let left = 0;
    for (let looks = 0; looks < 12; looks += 1) {
      const next = left + random.integer(40, 80);
      if (time <= next) return [left, next] as const;
      left = next;
    }
    return [left, I] as const;
  });
  const share = shareBy(fitOf(rows), 90);
  const truth = 1 - Math.exp(-0.3);
  const naive = computed(
    kaplanMeier({
      time: Float64Array.from(rows, ([l, r]) => (r < I ? r : l)),
      event: Uint8Array.from(rows, ([, r]) => (r < I ? 1 : 0)),
    }),
  );
  expect(Math.abs((share.low + share.high) / 2 - truth)).toBeLessThan(0.04);
  expect(1 - stepAt(naive, 90)!.survival).toBeLessThan(truth - 0.05);
});
