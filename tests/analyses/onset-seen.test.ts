import { describe, expect, test } from 'vitest';
import { bothStates, takingPart } from '../../src/analyses/onset-clearing/taking-part.ts';
import { pairCells } from '../../src/analyses/pair-cells.ts';
import { seenByLevel } from '../../src/analyses/seen-moves.ts';

/** Horse 0 moved from soft ground to firm, with one foot on record there and another here; horse 1 is on firm alone. */
const rows = {
  start: Uint8Array.of(0, 1, 0, 0, 1, 0),
  end: Uint8Array.of(1, 0, 1, 0, 0, 0),
  days: Float64Array.of(42, 42, 42, 35, 42, 42),
  horse: Int32Array.of(0, 0, 0, 1, 1, 1),
  foot: Int32Array.of(0, 0, 1, 2, 2, 3),
};
const ground = { levels: ['firm', 'rocky', 'soft'], codes: Int32Array.of(2, 2, 0, 0, 0, -1) };

describe('seenByLevel', () => {
  test('counts horses, feet, cycles and changes of each level, not of rows without one', () => {
    expect(seenByLevel(rows, ground)).toEqual([
      { horses: 2, feet: 2, cycles: 3, onsets: 1, clearings: 1 },
      { horses: 0, feet: 0, cycles: 0, onsets: 0, clearings: 0 },
      { horses: 1, feet: 1, cycles: 2, onsets: 1, clearings: 1 },
    ]);
  });

  test('counts a horse or foot of both levels compared once', () => {
    const [firm, rocky, soft] = seenByLevel(rows, ground, 0);
    expect(firm).toEqual({ horses: 2, feet: 2, cycles: 3, onsets: 1, clearings: 1 });
    expect(rocky).toEqual(firm);
    expect(soft).toEqual({ horses: 2, feet: 3, cycles: 5, onsets: 2, clearings: 2 });
    const sameFoot = { ...rows, foot: new Int32Array(6) };
    expect(seenByLevel(sameFoot, ground, 2)[0]).toMatchObject({ horses: 2, feet: 1 });
  });
});

describe('bothStates', () => {
  test('leaves out levels that began in one state, and then those of which nothing else is left', () => {
    const season = { levels: ['spring', 'summer'], codes: Int32Array.of(0, 0, 0, 1, 1, 1) };
    const start = Uint8Array.of(0, 1, 0, 0, 1, 0);
    const wet = { levels: ['dry', 'wet'], codes: Int32Array.of(0, 0, 0, 1, 0, 1) };
    const groups = new Map([
      ['season', season],
      ['moisture', wet],
    ]);
    const cells = pairCells({ ...rows, start, groups });
    const { marks, leftOut } = bothStates(cells, [...cells.groups]);
    expect(leftOut).toEqual([
      { grouping: 'moisture', level: 'wet' },
      { grouping: 'season', level: 'summer' },
    ]);
    expect(Array.from(takingPart(groups, marks, 6))).toEqual([1, 1, 1, 0, 0, 0]);
  });
});
