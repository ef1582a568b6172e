import { describe, expect, test } from 'vitest';
import { throughRows } from '../../src/analyses/design-columns.ts';
import { onsetCells } from '../../src/analyses/onset-cells.ts';
import { transitionCells } from '../../src/stats/transition-data.ts';

const rows = {
  start: [0, 0, 0, 1, 0, 0],
  end: [0, 0, 1, 1, 0, 0],
  days: [42, 42, 35, 42, 42, 50],
  horse: [7, 7, 7, 3, 3, 3],
};
const wet = [1, 1, 0, 0, 1, 0];
const onset = { names: ['level', 'wet'], at: [() => 1, (row: number) => wet[row]!] };
const columns = [rows.start, rows.end, rows.days, wet];

describe('onsetCells', () => {
  test('has rows alike as one cell, and of each horse how many it has of it', () => {
    const { cells, start, time, counts } = onsetCells(rows, columns, onset);
    expect(Array.from(cells.count)).toEqual([3, 1, 1, 1]);
    expect([Array.from(cells.pairCluster), Array.from(cells.pairCell)]).toEqual([
      [0, 0, 1, 1, 1],
      [0, 1, 2, 0, 3],
    ]);
    expect(Array.from(cells.pairCount)).toEqual([2, 1, 1, 1, 1]);
    expect([Array.from(start), Array.from(time)]).toEqual([
      [0, 0, 1, 0],
      [42, 35, 42, 50],
    ]);
    expect(counts).toEqual({ n00: 4, n01: 1, n10: 0, n11: 1 });
  });

  test('comes to what the matrices of all rows come to', () => {
    const whole = transitionCells({
      ...rows,
      time: rows.days,
      onset: Float64Array.from(wet.flatMap((mark) => [1, mark])),
      onsetTerms: onset.names,
      clearing: new Float64Array(6).fill(1),
      clearingTerms: ['clearing'],
      cluster: rows.horse,
    });
    expect(onsetCells(rows, columns, onset)).toEqual(whole);
  });

  test('takes rows that stand for others, by the design of those', () => {
    const cells = onsetCells(rows, columns, onset);
    const of = Int32Array.of(0, 2, 3, 4, 5);
    const at = (values: readonly number[]): number[] => Array.from(of, (row) => values[row]!);
    const [start, end, days, horse] = [at(rows.start), at(rows.end), at(rows.days), at(rows.horse)];
    const alike = { start, end, days, horse };
    expect(
      onsetCells(alike, [start, end, days, at(wet)], throughRows(onset, of), [2, 1, 1, 1, 1]),
    ).toMatchObject({
      onset: cells.onset,
      time: cells.time,
      counts: cells.counts,
      cells: { nRows: 6, count: cells.cells.count, pairCount: cells.cells.pairCount },
    });
  });

  test('leaves rows of weight 0 out, whatever stands in them', () => {
    const { cells } = onsetCells(rows, columns, onset, [1, 0, 1, 1, 0, 1]);
    expect(cells.nRows).toBe(4);
    expect(Array.from(cells.count)).toEqual([1, 1, 1, 1]);
  });

  test('refuses days that are not above 0', () => {
    const days = [42, 42, 0, 42, 42, 50];
    expect(() => onsetCells({ ...rows, days }, columns, onset)).toThrow('time must be above 0: 0 in row 1');
  });
});
