import { describe, expect, it } from 'vitest';
import { made } from '../../src/analyses/apart.ts';
import type { ReliefRows } from '../../src/analyses/relief-audit/data.ts';
import { heightChange } from '../../src/analyses/relief-audit/height.ts';
import { heightClasses, heightClassSql } from '../../src/analyses/relief-audit/height-classes.ts';
import { optionsSchema } from '../../src/analyses/relief-audit/options.ts';
import type { Scope } from '../../src/analyses/relief-audit/scopes.ts';
import { endingAnswer } from '../../src/analyses/relief-audit/shares.ts';
import { isUnavailable } from '../../src/core/outcome.ts';
import { seededRandom } from '../../src/stats/random.ts';

/**
 * Separations that lose 4 mm per 30 days down to 0, however they are handled, read with an error of 1 mm; high ones are
 * relieved more often.
 */
function higherRelieved(horses: number): ReliefRows {
  const random = seededRandom(5);
  const rows: [number, number, number, number, number, number][] = [];
  for (let horse = 0; horse < horses; horse += 1) {
    const rate = 4 + random.normal(0, 0.5);
    for (let foot = 0; foot < 2; foot += 1) {
      let height = 4 + 16 * random.uniform();
      let read = Math.max(0.5, height + random.normal(0, 1));
      while (height > 0) {
        const relieved = random.uniform() < 1 / (1 + Math.exp((10 - read) / 3)) ? 1 : 0;
        height = Math.max(0, height - (rate * 42) / 30);
        const next = height === 0 ? 0 : Math.max(0.5, height + random.normal(0, 1));
        rows.push([relieved, read, next, height === 0 ? 1 : 0, horse, 2 * horse + foot]);
        read = next;
      }
    }
  }
  return {
    days: new Float64Array(rows.length).fill(42),
    relieved: Uint8Array.from(rows, (row) => row[0]),
    place: { levels: ['within the wall'], codes: new Int32Array(rows.length) },
    height: Float64Array.from(rows, (row) => row[1]),
    heightNext: Float64Array.from(rows, (row) => row[2]),
    cleared: Float64Array.from(rows, (row) => row[3]),
    broken: new Float64Array(rows.length).fill(Number.NaN),
    horse: Int32Array.from(rows, (row) => row[4]),
    foot: Int32Array.from(rows, (row) => row[5]),
    groups: new Map(),
  };
}

describe('change of height where higher separations are relieved more often', () => {
  const rows = higherRelieved(120);
  const apart = made(async () => undefined);
  const difference = async (scope: Scope) => {
    const told = await heightChange(rows, optionsSchema.parse({}), scope, 'height', '30 days', apart);
    if (isUnavailable(told)) throw new Error(told.sentence);
    return told.difference;
  };

  it('looks as recorded as if relief did something, which it did not', async () => {
    expect((await difference('crude')).high).toBeLessThan(-0.5);
  });

  it('finds no difference with the height at the trim held alike', async () => {
    const { low, high } = await difference('adjusted');
    expect(low).toBeLessThan(0);
    expect(high).toBeGreaterThan(0);
    expect(high - low).toBeLessThan(1);
  });

  it('sets what has cleared side by side at like heights', () => {
    const { differences, isByHeight, strata } = endingAnswer(rows, optionsSchema.parse({}), 'cleared');
    const of = (scope: Scope) => differences.find((each) => each.scope === scope)!.difference;
    expect(of('crude').high).toBeLessThan(-0.1);
    expect(isByHeight).toBe(true);
    expect(strata.map(({ stratum }) => stratum)).toContain('at the white line, height 1 of 5');
    expect(of('adjusted').low).toBeLessThan(0);
    expect(of('adjusted').high).toBeGreaterThan(0);
  });
});

describe('classes of height', () => {
  it('are of about as many rows each, under limits that SQL shares, by hand', () => {
    const height = Float64Array.from([...Array(16).keys(), Number.NaN]);
    const classes = heightClasses(height, [...height.keys()]);
    // Sixteen heights, eight a class: under 8 and from 8 on.
    expect(classes.limits).toEqual([8]);
    expect([...classes.codes]).toEqual([...Array(8).fill(0), ...Array(8).fill(1), -1]);
    expect([1, 0, -1].map((code) => heightClassSql(classes, code))).toEqual([
      'separation_height_mm >= 8',
      'separation_height_mm < 8',
      'separation_height_mm IS NULL',
    ]);
    // Fifteen are too few to part, and one height leaves nothing to part.
    expect(heightClasses(height, [...Array(15).keys()]).levels).toHaveLength(1);
    expect(heightClasses(new Float64Array(40).fill(3), [...Array(40).keys()]).limits).toEqual([]);
  });
});
