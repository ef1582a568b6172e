import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { formatCell } from '../../src/core/format-value.ts';
import { dayColumn, makeTable, numberColumn, textColumn } from '../../src/core/table.ts';
import { columnWidths } from '../../src/sheet/column-widths.ts';
import { placeAfterKey } from '../../src/sheet/grid-keys.ts';
import {
  columnWindow,
  contentHeight,
  gridWindow,
  MOST_HEIGHT,
  ROW_HEIGHT,
  scrollToShow,
} from '../../src/sheet/grid-window.ts';
import { BLOCK_ROWS, createRowCache } from '../../src/sheet/row-cache.ts';
import { rowsAsText } from '../../src/sheet/rows-as-text.ts';
import { tableSource } from '../../src/sheet/table-source.ts';

describe('gridWindow', () => {
  it('is a plain multiplication while the content fits', () => {
    expect(gridWindow(1000, 10 * ROW_HEIGHT, 5 * ROW_HEIGHT, 2)).toEqual({
      first: 8,
      end: 17,
      top: 8 * ROW_HEIGHT,
    });
    expect(gridWindow(3, 0, 420)).toEqual({ first: 0, end: 3, top: 0 });
  });

  it('reaches the last of a million rows although the content is capped', () => {
    const rowCount = 1_000_000;
    expect(contentHeight(rowCount)).toBe(MOST_HEIGHT);
    const bottom = gridWindow(rowCount, MOST_HEIGHT - 420, 420);
    expect(bottom.end).toBe(rowCount);
    // The last row ends where the content ends.
    expect(bottom.top + (bottom.end - bottom.first) * ROW_HEIGHT).toBeCloseTo(MOST_HEIGHT, 3);
  });

  it('shows any row that it was asked to scroll to, and does not move for one in view', () => {
    const places = fc.record({
      rowCount: fc.integer({ min: 1, max: 5_000_000 }),
      share: fc.double({ min: 0, max: 1, noNaN: true }),
      from: fc.double({ min: 0, max: 1, noNaN: true }),
    });
    fc.assert(
      fc.property(places, ({ rowCount, share, from }) => {
        const viewport = 420;
        const row = Math.min(rowCount - 1, Math.floor(share * rowCount));
        const start = from * Math.max(0, contentHeight(rowCount) - viewport);
        const top = scrollToShow(row, rowCount, start, viewport);
        const shown = gridWindow(rowCount, top, viewport, 0);
        const rowTop = shown.top + (row - shown.first) * ROW_HEIGHT - top;
        expect(rowTop).toBeGreaterThan(-0.5);
        expect(rowTop + ROW_HEIGHT).toBeLessThan(viewport + 0.5);
        expect(scrollToShow(row, rowCount, top, viewport)).toBeCloseTo(top, 3);
      }),
    );
  });
});

describe('columnWindow', () => {
  const widths = Array.from({ length: 40 }, () => 100);
  const lefts = widths.map((_, at) => at * 100);

  it('has every column in view, some beside them, and not the whole table', () => {
    expect(columnWindow({ lefts, widths, identity: 3 }, 1500, 2500)).toEqual({ first: 11, end: 29 });
    expect(columnWindow({ lefts, widths, identity: 3 }, 0, 1000)).toEqual({ first: 3, end: 14 });
    expect(columnWindow({ lefts, widths, identity: 3 }, 3000, 4000)).toEqual({ first: 26, end: 40 });
  });

  it('has all where nothing is known of the width, and none where all stay in view', () => {
    expect(columnWindow({ lefts, widths, identity: 3 }, 0, Number.POSITIVE_INFINITY)).toEqual({
      first: 3,
      end: 40,
    });
    expect(columnWindow({ lefts, widths, identity: 40 }, 0, 1000)).toEqual({ first: 40, end: 40 });
  });
});

describe('placeAfterKey', () => {
  const extent = { rowCount: 100, columnCount: 5, pageRows: 10 };
  const led = (key: string, row: number, column: number, ctrlKey = false) => {
    const place = placeAfterKey({ key, ctrlKey }, { row, column }, extent);
    return place && [place.row, place.column];
  };

  it('moves as the grid pattern has it and stops at the edges', () => {
    expect(led('ArrowDown', 99, 2)).toEqual([99, 2]);
    expect(led('ArrowUp', 0, 2)).toEqual([-1, 2]);
    expect(led('ArrowUp', -1, 2)).toEqual([-1, 2]);
    expect(led('ArrowLeft', 3, 0)).toEqual([3, 0]);
    expect(led('ArrowRight', 3, 3)).toEqual([3, 4]);
    expect(led('PageDown', -1, 1)).toEqual([10, 1]);
    expect(led('PageUp', 5, 1)).toEqual([0, 1]);
    expect(led('PageDown', 95, 1)).toEqual([99, 1]);
    expect(led('Home', 5, 3)).toEqual([5, 0]);
    expect(led('End', 5, 3)).toEqual([5, 4]);
    expect(led('Home', 5, 3, true)).toEqual([0, 0]);
    expect(led('End', 5, 3, true)).toEqual([99, 4]);
    expect(led('x', 5, 3)).toBeNull();
  });
});

describe('createRowCache', () => {
  it('fetches each block once, only what is wanted, and the last one no longer than it is', async () => {
    const asked: [number, number][] = [];
    const source = {
      rowCount: BLOCK_ROWS * 2 + 5,
      columns: [],
      async fetch(offset: number, limit: number) {
        asked.push([offset, limit]);
        return makeTable({ a: numberColumn(Array.from({ length: limit }, (_, at) => offset + at)) });
      },
    };
    const cache = createRowCache(source, null, { changed: () => undefined, failed: () => undefined });
    expect(cache.get(0)).toBeNull();
    await Promise.all([cache.want(0, 10), cache.want(5, 20)]);
    await cache.want(BLOCK_ROWS * 2, BLOCK_ROWS * 2 + 5);
    await cache.want(0, 10);
    expect(asked).toEqual([
      [0, BLOCK_ROWS],
      [BLOCK_ROWS * 2, 5],
    ]);
    expect(cache.get(BLOCK_ROWS)).toBeNull();
    const found = cache.get(BLOCK_ROWS * 2 + 3);
    expect(found?.at).toBe(3);
    expect(found?.table.columns.a?.values[3]).toBe(BLOCK_ROWS * 2 + 3);
  });

  it('tells of a failure and asks again the next time', async () => {
    let calls = 0;
    const failures: unknown[] = [];
    const source = { rowCount: 5, columns: [], fetch: () => Promise.reject(new Error(`no ${++calls}`)) };
    const cache = createRowCache(source, null, {
      changed: () => undefined,
      failed: (error) => failures.push(error),
    });
    await cache.want(0, 5);
    await cache.want(0, 5);
    expect(failures.map(String)).toEqual(['Error: no 1', 'Error: no 2']);
  });
});

describe('tableSource', () => {
  const table = makeTable({
    name: textColumn(['b10', 'b9', null, 'a']),
    mm: numberColumn([2, null, 3, 1]),
    day: dayColumn([20000, 20001, 20002, Number.NaN]),
  });
  const source = tableSource(table, [{ name: 'name', label: 'name' }]);
  const names = async (column: string, descending: boolean) =>
    (await source.fetch(0, 10, { column, descending })).columns.name?.values;

  it('sorts with numbers inside text in their order, and missing values last either way', async () => {
    expect(await names('name', false)).toEqual(['a', 'b9', 'b10', null]);
    expect(await names('name', true)).toEqual(['b10', 'b9', 'a', null]);
    expect(await names('mm', true)).toEqual([null, 'b10', 'a', 'b9']);
  });

  it('gives a stretch in the first order', async () => {
    const { rowCount, columns } = await source.fetch(1, 2, null);
    expect(rowCount).toBe(2);
    expect(columns.name?.values).toEqual(['b9', null]);
    expect(columns.day).toEqual({ type: 'day', values: Float64Array.of(20001, 20002) });
  });

  it('writes rows as tab-separated text that a cell cannot break out of', () => {
    const text = rowsAsText(
      makeTable({
        a: textColumn(['x\ty\nz', null]),
        mm: numberColumn([1.23456, null]),
        d: dayColumn([0, 1]),
      }),
      [
        { name: 'a', label: 'note' },
        { name: 'mm', label: 'toe', unit: 'mm', digits: 1 },
        { name: 'd', label: 'day' },
      ],
    );
    expect(text).toBe('note\ttoe (mm)\tday\nx y z\t1.23456\t1970-01-01\n\t\t1970-01-02');
  });
});

describe('formatCell', () => {
  it('groups the thousands of a quantity, not of a year', () => {
    const table = makeTable({ n: numberColumn([2012]) });
    expect(formatCell(table, { name: 'n', label: 'feet', digits: 0 }, 0)).toBe('2,012');
    expect(formatCell(table, { name: 'n', label: 'year of birth', digits: 0, ungrouped: true }, 0)).toBe(
      '2012',
    );
  });
});

describe('columnWidths', () => {
  it('follows the content between its limits', () => {
    const table = makeTable({ short: textColumn(['a']), long: textColumn(['m'.repeat(200)]) });
    const [short, long, absent] = columnWidths(
      ['short', 'long', 'absent'].map((name) => ({ name, label: 'x' })),
      table,
    );
    expect([short, long, absent]).toEqual([64, 300, 64]);
  });
});
