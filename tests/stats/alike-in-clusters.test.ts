import { expect, it } from 'vitest';
import { alikeInClusters } from '../../src/stats/alike-in-clusters.ts';
import { collapseRows } from '../../src/stats/cells.ts';
import { seededRandom } from '../../src/stats/random.ts';

const told = (code: number[], cluster: number[]) => {
  const { row, count } = alikeInClusters(Int32Array.from(code), Int32Array.from(cluster));
  return { row: [...row], count: [...count] };
};

it('puts rows of one cluster together that share a code, and leaves out those without one', () => {
  const code = [7, 3, 7, -1, 7, 3, 3];
  expect(told(code, [0, 0, 0, 0, 2, 2, 2])).toEqual({ row: [0, 1, 4, 5], count: [2, 1, 1, 2] });
  expect(told([], [])).toEqual({ row: [], count: [] });
  expect(told([-1, -1], [4, 4])).toEqual({ row: [], count: [] });
});

it('takes clusters in the order in which they appear, wherever their rows stand', () => {
  expect(told([1, 1, 2, 1, 2], [5, 3, 5, 5, 3])).toEqual({ row: [0, 2, 1, 4], count: [2, 1, 1, 1] });
});

it('finds what a collapse of all rows finds', () => {
  const random = seededRandom(20261130);
  for (const [n, codes, rowsOfOne] of [
    [4000, 5, 3],
    [9000, 1000, 700],
    [6000, 2 ** 30, 40],
  ] as const) {
    const code = Int32Array.from({ length: n }, () => random.integer(-1, codes - 2));
    const cluster = Int32Array.from({ length: n }, (_, row) => Math.floor(row / rowsOfOne));
    const { pairRow, pairCount } = collapseRows(
      [code],
      cluster,
      code.map((of) => (of < 0 ? 0 : 1)),
    );
    expect(told([...code], [...cluster])).toEqual({ row: [...pairRow], count: [...pairCount] });
  }
});
