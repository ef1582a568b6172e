import { describe, expect, it } from 'vitest';
import type { ReliefRows } from '../../src/analyses/relief-audit/data.ts';
import { heightChange } from '../../src/analyses/relief-audit/height.ts';
import { optionsSchema } from '../../src/analyses/relief-audit/options.ts';
import type { Scope } from '../../src/analyses/relief-audit/scopes.ts';
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
  const difference = (scope: Scope) => {
    const told = heightChange(rows, optionsSchema.parse({}), scope, 'height', '30 days');
    if (isUnavailable(told)) throw new Error(told.sentence);
    return told.difference;
  };

  it('looks as recorded as if relief did something, which it did not', () => {
    expect(difference('crude').high).toBeLessThan(-0.5);
  });

  it('finds no difference with the height at the trim held alike', () => {
    const { low, high } = difference('adjusted');
    expect(low).toBeLessThan(0);
    expect(high).toBeGreaterThan(0);
    expect(high - low).toBeLessThan(1);
  });
});
