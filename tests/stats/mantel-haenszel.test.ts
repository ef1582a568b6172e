import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isUnavailable, type Outcome } from '../../src/core/outcome.ts';
import { mantelHaenszel, pooledPoints, type Stratum } from '../../src/stats/mantel-haenszel.ts';
import {
  jackknifeMantelHaenszel,
  type StratifiedRows,
  strataOf,
} from '../../src/stats/mantel-haenszel-jackknife.ts';
import { seededRandom } from '../../src/stats/random.ts';
import reference from '../reference/shares-and-strata.json' with { type: 'json' };

const got = <T>(outcome: Outcome<T>): T => {
  if (isUnavailable(outcome)) throw new Error(outcome.sentence);
  return outcome;
};
const near = (actual: number, expected: number, tolerance = 1e-9) =>
  expect(Math.abs(actual - expected), `${actual} for ${expected}`).toBeLessThan(
    tolerance * Math.max(1, Math.abs(expected)),
  );

const stratum = (a: number, b: number, c: number, d: number): Stratum => ({
  exposedEvents: a,
  exposedRows: a + b,
  unexposedEvents: c,
  unexposedRows: c + d,
});

// Bickel, Hammel & O'Connell 1975, Science 187:398–404 (R datasets): admitted and rejected men, women, by department.
const admissions = [
  stratum(512, 313, 89, 19),
  stratum(353, 207, 17, 8),
  stratum(120, 205, 202, 391),
  stratum(138, 279, 131, 244),
  stratum(53, 138, 94, 299),
  stratum(22, 351, 24, 317),
];
const all = (strata: Stratum[]): Stratum =>
  strata.reduce((x, y) => ({
    exposedEvents: x.exposedEvents + y.exposedEvents,
    exposedRows: x.exposedRows + y.exposedRows,
    unexposedEvents: x.unexposedEvents + y.unexposedEvents,
    unexposedRows: x.unexposedRows + y.unexposedRows,
  }));

describe('mantelHaenszel', () => {
  it('agrees with R mantelhaen.test on the admissions data, and the pooled answer turns the crude one round', () => {
    const found = got(mantelHaenszel(admissions)).oddsRatio!;
    near(found.estimate, reference.ucbTest[0]!);
    near(found.low, reference.ucbTest[1]!);
    near(found.high, reference.ucbTest[2]!);
    near(got(mantelHaenszel([all(admissions)])).oddsRatio!.estimate, 1.84108003718, 1e-11);
  });

  it('agrees with R metafor rma.mh on all three measures and their errors', () => {
    const rows = strataOf(referenceRows(), 4).filter((s) => s.unexposedRows > 0);
    for (const [strata, expected] of [
      [admissions, reference.ucb],
      [rows, reference.simple],
    ] as const) {
      const found = got(mantelHaenszel(strata));
      near(found.riskDifference.estimate, expected.RD[0]!);
      near(found.riskDifference.stdError!, expected.RD[1]!);
      near(Math.log(found.riskRatio!.estimate), expected.RR[0]!);
      near(found.riskRatio!.stdError! / found.riskRatio!.estimate, expected.RR[1]!);
      near(Math.log(found.oddsRatio!.estimate), expected.OR[0]!);
      near(found.oddsRatio!.stdError! / found.oddsRatio!.estimate, expected.OR[1]!);
    }
  });

  it('by hand: one stratum is the plain comparison', () => {
    // 3 of 10 against 1 of 5: difference 0.1, ratio 1.5, odds ratio (3·4)/(7·1); Greenland and Robins's variance of one
    // stratum is 1/3 − 1/10 + 1/1 − 1/5, Robins, Breslow and Greenland's is Woolf's 1/3 + 1/7 + 1/1 + 1/4.
    const found = got(mantelHaenszel([stratum(3, 7, 1, 4)]));
    near(found.riskDifference.estimate, 0.1);
    near(found.riskRatio!.estimate, 1.5);
    near(found.riskRatio!.stdError! / 1.5, Math.sqrt(1 / 3 - 1 / 10 + 1 - 1 / 5));
    near(found.oddsRatio!.estimate, 12 / 7);
    near(found.oddsRatio!.stdError! / (12 / 7), Math.sqrt(1 / 3 + 1 / 7 + 1 + 1 / 4));
  });

  it('does not depend on the order of strata; a stratum without overlap is named and adds nothing', () => {
    const base = got(mantelHaenszel(admissions));
    fc.assert(
      fc.property(fc.integer(), fc.integer({ min: 1, max: 50 }), (seed, extra) => {
        const turned = [...seededRandom(seed).shuffle(admissions), stratum(extra, 3, 0, 0)];
        const found = got(mantelHaenszel(turned));
        near(found.riskDifference.low, base.riskDifference.low, 1e-10);
        near(found.oddsRatio!.high, base.oddsRatio!.high, 1e-10);
        expect(found.withoutOverlap).toEqual([6]);
        expect(found.nCompared).toBe(base.nCompared);
      }),
      { numRuns: 20 },
    );
  });

  it('shrinks errors by √2 when every count doubles', () => {
    const twice = admissions.map((s) =>
      stratum(
        2 * s.exposedEvents,
        2 * (s.exposedRows - s.exposedEvents),
        2 * s.unexposedEvents,
        2 * (s.unexposedRows - s.unexposedEvents),
      ),
    );
    const [one, two] = [got(mantelHaenszel(admissions)), got(mantelHaenszel(twice))];
    for (const name of ['riskDifference', 'riskRatio', 'oddsRatio'] as const) {
      near(two[name]!.estimate, one[name]!.estimate);
      near(two[name]!.stdError! * Math.SQRT2, one[name]!.stdError!);
    }
  });

  it('hard cases', () => {
    expect(mantelHaenszel([])).toMatchObject({ unavailable: 'no-overlap' });
    expect(mantelHaenszel([stratum(3, 4, 0, 0), stratum(0, 0, 2, 2)])).toMatchObject({
      unavailable: 'no-overlap',
    });
    expect(mantelHaenszel([stratum(0, 4, 0, 9), stratum(5, 0, 0, 0)])).toMatchObject({
      unavailable: 'no-events',
    });
    expect(mantelHaenszel([stratum(4, 0, 9, 0)])).toMatchObject({ unavailable: 'all-events' });
    const noneExposed = got(mantelHaenszel([stratum(0, 8, 3, 5)]));
    expect(noneExposed.riskRatio).toBeNull();
    expect(noneExposed.oddsRatio).toBeNull();
    near(noneExposed.riskDifference.estimate, -3 / 8);
    expect(() => mantelHaenszel([stratum(-1, 4, 1, 1)])).toThrow(/stratum 0 must have 0 ≤ events ≤ rows/);
  });
});

function referenceRows(): StratifiedRows {
  const { rows } = reference;
  return {
    stratum: Int32Array.from(rows.stratum),
    exposed: Uint8Array.from(rows.group),
    event: Uint8Array.from(rows.y),
    cluster: Int32Array.from(rows.cluster),
  };
}

describe('jackknifeMantelHaenszel', () => {
  it('agrees with a plain delete-one-cluster loop in R', () => {
    const found = got(jackknifeMantelHaenszel(referenceRows(), 4));
    near(found.riskDifference.estimate, reference.pooled[0]!);
    near(found.riskRatio!.estimate, reference.pooled[1]!);
    near(found.oddsRatio!.estimate, reference.pooled[2]!);
    near(found.riskDifference.stdError!, reference.pooledJackSe[0]!);
    near(found.riskRatio!.stdError! / found.riskRatio!.estimate, reference.pooledJackSe[1]!);
    near(found.oddsRatio!.stdError! / found.oddsRatio!.estimate, reference.pooledJackSe[2]!);
    expect(found.nClusters).toBe(reference.nComparingClusters);
    expect(found.withoutOverlap).toEqual([3]);
  });

  it('does not depend on row order or on what clusters are called, and copied rows add no certainty', () => {
    const base = referenceRows();
    const order = seededRandom(4).shuffle([...base.stratum.keys(), ...base.stratum.keys()]);
    const twice: StratifiedRows = {
      stratum: Int32Array.from(order, (i) => base.stratum[i]!),
      exposed: Uint8Array.from(order, (i) => base.exposed[i]!),
      event: Uint8Array.from(order, (i) => base.event[i]!),
      cluster: Int32Array.from(order, (i) => 99 - base.cluster[i]!),
    };
    const [one, two] = [got(jackknifeMantelHaenszel(base, 4)), got(jackknifeMantelHaenszel(twice, 4))];
    near(two.riskDifference.stdError!, one.riskDifference.stdError!);
    near(two.oddsRatio!.low, one.oddsRatio!.low);
  });

  it('hard cases', () => {
    const rows = (cluster: number[]): StratifiedRows => ({
      stratum: Int32Array.of(0, 0, 0, 0),
      exposed: Uint8Array.of(1, 1, 0, 0),
      event: Uint8Array.of(1, 0, 1, 0),
      cluster: Int32Array.from(cluster),
    });
    expect(jackknifeMantelHaenszel(rows([7, 7, 7, 7]), 1)).toMatchObject({ unavailable: 'one-cluster' });
    // Without cluster 1 nobody is exposed any more.
    expect(jackknifeMantelHaenszel(rows([1, 1, 2, 2]), 1)).toMatchObject({ unavailable: 'no-overlap' });
    expect(() => jackknifeMantelHaenszel(rows([1, 1, 2, 2]), 0)).toThrow(/stratum must lie between/);
    expect(pooledPoints([])).toEqual({ riskDifference: null, riskRatio: null, oddsRatio: null });
  });
});
