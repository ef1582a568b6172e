import { describe, expect, it } from 'vitest';
import { isUnavailable, type Outcome } from '../../src/core/outcome.ts';
import { seededRandom } from '../../src/stats/random.ts';
import {
  clusteredAgreement,
  limitsOfAgreement,
  repeatabilityOfVariance,
  withinSubjectSd,
} from '../../src/stats/repeatability.ts';

const got = <T>(outcome: Outcome<T>): T => {
  if (isUnavailable(outcome)) throw new Error(outcome.sentence);
  return outcome;
};

// Peak expiratory flow of 17 people by two meters, twice each: Bland & Altman 1986, Lancet 327:307–310, table; from memory.
// The published mean, SD and limits come out of them, which a wrong digit would not.
const large1 = Float64Array.of(
  494,
  395,
  516,
  434,
  476,
  557,
  413,
  442,
  650,
  433,
  417,
  656,
  267,
  478,
  178,
  423,
  427,
);
const large2 = Float64Array.of(
  490,
  397,
  512,
  401,
  470,
  611,
  415,
  431,
  638,
  429,
  420,
  633,
  275,
  492,
  165,
  372,
  421,
);
const mini1 = Float64Array.of(
  512,
  430,
  520,
  428,
  500,
  600,
  364,
  380,
  658,
  445,
  432,
  626,
  260,
  477,
  259,
  350,
  451,
);
const mini2 = Float64Array.of(
  525,
  415,
  508,
  444,
  500,
  625,
  460,
  390,
  642,
  432,
  420,
  605,
  227,
  467,
  268,
  370,
  443,
);
const twice = (first: Float64Array, second: Float64Array) =>
  got(
    withinSubjectSd(
      Float64Array.of(...first, ...second),
      Int32Array.from({ length: 34 }, (_, i) => i % 17),
    ),
  );

describe('limitsOfAgreement', () => {
  it('has the published figures of the flow meters', () => {
    const found = got(limitsOfAgreement(large1, mini1));
    expect(found.bias.estimate).toBeCloseTo(-2.1, 1);
    expect(found.sdOfDifferences).toBeCloseTo(38.8, 1);
    expect(found.bias.stdError).toBeCloseTo(9.4, 1);
    expect(found.bias.low).toBeCloseTo(-22.0, 0);
    expect(found.bias.high).toBeCloseTo(17.8, 0);
    expect(found.lowerLimit.stdError).toBeCloseTo(16.3, 1);
    // Published with 2 SD for 1.96 SD: −79.7 and 75.5.
    const two = (2 - 1.959964) * found.sdOfDifferences;
    expect(found.lowerLimit.estimate - two).toBeCloseTo(-79.7, 0);
    expect(found.upperLimit.estimate + two).toBeCloseTo(75.5, 0);
  });

  it('turns round with the meters and needs three pairs', () => {
    const [one, two] = [got(limitsOfAgreement(large1, mini1)), got(limitsOfAgreement(mini1, large1))];
    expect(one.lowerLimit.low).toBeCloseTo(-two.upperLimit.high, 10);
    expect(limitsOfAgreement(Float64Array.of(1, 2), Float64Array.of(1, 3))).toMatchObject({
      unavailable: 'no-rows',
    });
    expect(() => limitsOfAgreement(Float64Array.of(1, Number.NaN), Float64Array.of(1, 3))).toThrow(
      'a must be finite: NaN at 1',
    );
    expect(() => limitsOfAgreement(Float64Array.of(1), Float64Array.of(1, 3))).toThrow(
      'b must hold 1 values: 2',
    );
  });
});

it('gives no interval without a width where nothing differs, or all by the same', () => {
  const [a, b] = [Float64Array.of(80.1, 81.3, 95, 70), Float64Array.of(80.2, 81.4, 95.1, 70.1)];
  const horses = Int32Array.of(1, 1, 2, 3);
  for (const second of [a, b]) {
    expect(limitsOfAgreement(second, a)).toMatchObject({ unavailable: 'one-level' });
    expect(clusteredAgreement(second, a, horses)).toMatchObject({ unavailable: 'one-level' });
  }
});

describe('withinSubjectSd', () => {
  it('has the published repeatability of both meters: 43.2 and 56.4 l/min with 2 for 1.96', () => {
    expect((twice(large1, large2).repeatability.estimate * 2) / 1.959964).toBeCloseTo(43.2, 0);
    expect((twice(mini1, mini2).repeatability.estimate * 2) / 1.959964).toBeCloseTo(56.4, 0);
    expect(twice(large1, large2).nSubjects).toBe(17);
  });

  it('by hand: unsorted, uneven numbers, one measured once', () => {
    // Subject 1: 1, 2, 3 (squares 2); subject 2: 10, 14 (squares 8); subject 3: 7 alone. 10 on 3 degrees of freedom.
    const found = got(withinSubjectSd(Float64Array.of(3, 10, 7, 1, 14, 2), Int32Array.of(1, 2, 3, 1, 2, 1)));
    expect(found.withinSd.estimate).toBeCloseTo(Math.sqrt(10 / 3), 12);
    expect(found.nSubjects).toBe(2);
    expect(found.nMeasurements).toBe(5);
    // chi-square quantiles on 3 degrees of freedom: 0.2157953, 9.3484036
    expect(found.withinSd.low).toBeCloseTo(Math.sqrt(10 / 9.3484036), 6);
    expect(found.withinSd.high).toBeCloseTo(Math.sqrt(10 / 0.2157953), 5);
  });

  it('is not moved by large readings, units or names', () => {
    const value = Float64Array.of(3, 10, 7, 1, 14, 2);
    const subject = Int32Array.of(1, 2, 3, 1, 2, 1);
    const base = got(withinSubjectSd(value, subject)).withinSd.estimate;
    const shifted = got(
      withinSubjectSd(
        value.map((v) => 25.4 * v + 1e7),
        subject.map((s) => -s),
      ),
    );
    expect(shifted.withinSd.estimate / 25.4).toBeCloseTo(base, 8);
  });

  it('covers the true spread about as often as it claims', () => {
    const random = seededRandom(77);
    let covered = 0;
    for (let herd = 0; herd < 400; herd++) {
      const subject = Int32Array.from({ length: 20 }, (_, i) => i >> 1);
      const level = Array.from({ length: 10 }, () => random.normal(80, 10));
      const value = Float64Array.from(subject, (s) => random.normal(level[s], 1.5));
      const { low, high } = got(withinSubjectSd(value, subject)).withinSd;
      if (low <= 1.5 && 1.5 <= high) covered++;
    }
    expect(covered / 400).toBeGreaterThan(0.91);
    expect(covered / 400).toBeLessThan(0.985);
  });

  it('lets pairs of one cluster be alike, by hand', () => {
    // Differences 1, 1 of one and −1, −1 of another: sums 2 and −2, squares 8 · 2/1, over 4 pairs: 1, where independent
    // pairs would have √(4/3)/2. Student's t on 1 degree of freedom: 12.7062.
    const [a, b] = [Float64Array.of(1, 1, -1, -1), new Float64Array(4)];
    const alike = got(clusteredAgreement(a, b, Int32Array.of(7, 7, 3, 3)));
    expect(alike.bias.stdError).toBeCloseTo(1, 12);
    expect(alike.bias.high).toBeCloseTo(12.7062, 4);
    const plain = got(limitsOfAgreement(a, b));
    expect(plain.bias.stdError).toBeCloseTo(Math.sqrt(4 / 3) / 2, 12);
    expect(alike.upperLimit.estimate).toBe(plain.upperLimit.estimate);
    expect(alike.upperLimit.stdError! / plain.upperLimit.stdError!).toBeCloseTo(2 / Math.sqrt(4 / 3), 12);
    // One pair a cluster: nothing is alike.
    const apart = got(clusteredAgreement(a, b, Int32Array.of(1, 2, 3, 4)));
    expect(apart.bias.low).toBeCloseTo(plain.bias.low, 12);
    expect(apart.lowerLimit.low).toBeCloseTo(plain.lowerLimit.low, 12);
    expect(clusteredAgreement(a, b, Int32Array.of(1, 1, 1, 1))).toMatchObject({ unavailable: 'one-cluster' });
  });

  it('hard cases', () => {
    expect(withinSubjectSd(Float64Array.of(1, 2), Int32Array.of(1, 2))).toMatchObject({
      unavailable: 'no-rows',
    });
    expect(withinSubjectSd(Float64Array.of(), Int32Array.of())).toMatchObject({ unavailable: 'no-rows' });
    const alike = got(withinSubjectSd(Float64Array.of(4, 4), Int32Array.of(1, 1)));
    expect(alike.withinSd.estimate).toBe(0);
    expect(() => withinSubjectSd(Float64Array.of(Number.NaN), Int32Array.of(1))).toThrow(
      'value must be finite: NaN at 0',
    );
    expect(repeatabilityOfVariance(2.25, 40).withinSd.estimate).toBeCloseTo(1.5, 12);
    expect(() => repeatabilityOfVariance(-1, 40)).toThrow(/variance must be 0 or more/);
  });
});
