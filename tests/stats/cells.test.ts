import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cellRows, clusterScores, collapseRows, columnsOf } from '../../src/stats/cells.ts';

describe('collapseRows', () => {
  it('counts alike rows, in all and by cluster: worked by hand', () => {
    // rows (a, b): (1, 5) (2, 5) (1, 5) (1, 6) (2, 5) in clusters 9 9 7 9 9
    const cells = collapseRows(
      [
        [1, 2, 1, 1, 2],
        [5, 5, 5, 6, 5],
      ],
      [9, 9, 7, 9, 9],
    );
    expect([...cells.firstRow]).toEqual([0, 1, 3]);
    expect([...cells.count]).toEqual([2, 2, 1]);
    expect(cells.nClusters).toBe(2);
    const pairs = [...cells.pairCell].map((cell, i) => [cell, cells.pairCluster[i], cells.pairCount[i]]);
    expect(pairs).toEqual([
      [0, 0, 1],
      [1, 0, 2],
      [2, 0, 1],
      [0, 1, 1],
    ]);
  });

  it('sums any function of the values over each cluster as the rows would', () => {
    const row = fc.record({
      a: fc.integer({ min: -2, max: 2 }),
      b: fc.integer({ min: 0, max: 3 }),
      g: fc.integer({ min: -3, max: 3 }),
    });
    fc.assert(
      fc.property(fc.array(row, { minLength: 1, maxLength: 60 }), (rows) => {
        const matrix = Float64Array.from(rows.flatMap(({ a, b }) => [a, b]));
        const cells = collapseRows(
          columnsOf(matrix, rows.length, 2),
          rows.map(({ g }) => g),
        );
        const score = (a: number, b: number) => [a * b + 1, a - b * b];
        const values = cellRows(cells, matrix, 2);
        const scores = Float64Array.from(
          Array.from({ length: cells.nCells }, (_, c) => score(values[2 * c]!, values[2 * c + 1]!)).flat(),
        );
        const direct = new Map<number, number[]>();
        for (const { a, b, g } of rows) {
          const sum = direct.get(g) ?? [0, 0];
          score(a, b).forEach((s, j) => {
            sum[j]! += s;
          });
          direct.set(g, sum);
        }
        expect([...clusterScores(cells, scores, 2)]).toEqual([...direct.values()].flat());
      }),
    );
  });

  it('takes a weight as that many rows, and leaves out weight 0', () => {
    const cells = collapseRows([[1, 1, 2, 3]], [1, 2, 1, 5], [3, 2, 1, 0]);
    expect(cells.nRows).toBe(6);
    expect([...cells.count]).toEqual([5, 1]);
    expect(cells.nClusters).toBe(2);
  });

  it('refuses values that are not finite, and columns of another length', () => {
    expect(() => collapseRows([[1, Number.NaN]], [1, 1])).toThrow(
      'column must hold finite numbers: NaN in row 1',
    );
    expect(collapseRows([[], new Float64Array(0)], [])).toMatchObject({ nRows: 0, nCells: 0, nClusters: 0 });
    expect(() => collapseRows([[1]], [1, 1])).toThrow('column must be as long as cluster: 1, 2');
    expect(() => collapseRows([[1]], [1], [-1])).toThrow('weight must be 0 or more and finite: -1');
  });
});
