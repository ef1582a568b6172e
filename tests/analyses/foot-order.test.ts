import { describe, expect, it } from 'vitest';
import { footOrder, inOrder } from '../../src/analyses/foot-order.ts';
import { codeColumn, seenLevels } from '../../src/analyses/groups.ts';
import { makeTable, textColumn } from '../../src/core/table.ts';

describe('rows by foot', () => {
  it('keep the order of their numbers within each foot', () => {
    const foot = Int32Array.of(1, 0, 1, 0, 2);
    const order = footOrder(foot, Float64Array.of(1, 1, 2, 2, 1), 3);
    expect([...order]).toEqual([1, 3, 0, 2, 4]);
    expect([...inOrder(foot, order)]).toEqual([0, 0, 1, 1, 2]);
  });

  it('are sorted where the numbers of a foot do not come in order, as after a row was amended', () => {
    const foot = Int32Array.of(1, 0, 1, 0, 1);
    expect([...footOrder(foot, Float64Array.of(3, 2, 1, 1, 2), 2)]).toEqual([3, 1, 2, 4, 0]);
  });

  it('may have a foot without rows, and be none', () => {
    expect([...footOrder(Int32Array.of(2, 0), Float64Array.of(1, 1), 4)]).toEqual([1, 0]);
    expect([...footOrder(new Int32Array(0), new Float64Array(0), 0)]).toEqual([]);
  });
});

describe('codes of texts', () => {
  it('go by the sorted texts, from a column with codes as from one without', () => {
    const values = ['b', null, 'a', 'b'];
    const plain = makeTable({ text: textColumn(values) });
    const column = {
      ...textColumn(values),
      coded: { codes: Int32Array.of(0, -1, 1, 0), levels: ['b', 'a'] },
    };
    for (const table of [plain, { rowCount: 4, columns: { text: column } }]) {
      const { levels, codes } = codeColumn(table, 'text');
      expect([levels, [...codes]]).toEqual([
        ['a', 'b'],
        [1, -1, 0, 1],
      ]);
    }
  });

  it('close up where a level has no row left', () => {
    const { levels, codes } = seenLevels({ levels: ['a', 'b', 'c'], codes: Int32Array.of(2, -1, 0) });
    expect([levels, [...codes]]).toEqual([
      ['a', 'c'],
      [1, -1, 0],
    ]);
  });
});
