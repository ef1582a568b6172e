// @vitest-environment jsdom
import { render } from 'preact';
import { act } from 'preact/test-utils';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { makeTable, numberColumn, textColumn } from '../../src/core/table.ts';
import { RowGrid } from '../../src/sheet/row-grid.tsx';
import type { RowSort, RowSource } from '../../src/sheet/row-source.ts';

/** A million rows that know their own number. */
function millionRows(fetched: [number, number, RowSort | null][] = []): RowSource {
  return {
    rowCount: 1_000_000,
    columns: [
      { name: 'horse_id', label: 'horse' },
      { name: 'toe', label: 'toe', unit: 'mm', digits: 1 },
      { name: 'note', label: 'note' },
    ],
    async fetch(offset, limit, sort) {
      fetched.push([offset, limit, sort]);
      const rows = Array.from({ length: limit }, (_, at) => offset + at);
      return makeTable({
        horse_id: textColumn(rows.map((row) => `H${row}`)),
        toe: numberColumn(rows.map((row) => (row === 1 ? null : row / 10))),
        note: textColumn(rows.map(() => '<b>x</b>')),
      });
    },
  };
}

let host: HTMLElement;
beforeEach(() => {
  vi.useFakeTimers();
  host = document.createElement('div');
  document.body.append(host);
});
afterEach(() => {
  act(() => render(null, host));
  host.remove();
  vi.useRealTimers();
});

const settle = () =>
  act(async () => {
    await vi.advanceTimersByTimeAsync(200);
  });
async function show(source: RowSource, onActivate?: (row: number, column: string) => void) {
  act(() =>
    render(
      <RowGrid source={source} label="visits" identity={1} {...(onActivate ? { onActivate } : {})} />,
      host,
    ),
  );
  await settle();
  return host.querySelector<HTMLElement>('[role=grid]')!;
}
const press = async (grid: Element, key: string, more: KeyboardEventInit = {}) => {
  act(() => {
    grid.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true, ...more }));
  });
  await settle();
};
const activeCell = (grid: Element) => {
  const id = grid.getAttribute('aria-activedescendant')!;
  const cell = host.querySelector(`[id="${id}"]`);
  return { text: cell?.textContent, row: cell?.closest('[role=row]')?.getAttribute('aria-rowindex') };
};

describe('RowGrid', () => {
  it('draws only what is in view and says how much there is', async () => {
    const fetched: [number, number, RowSort | null][] = [];
    const grid = await show(millionRows(fetched));
    expect(grid.getAttribute('aria-rowcount')).toBe('1000001');
    expect(grid.getAttribute('aria-colcount')).toBe('3');
    expect(grid.querySelectorAll('[role=row]').length).toBeLessThan(40);
    expect(fetched).toEqual([[0, 200, null]]);
    const row = grid.querySelector('[data-row="1"]')!;
    expect([...row.children].map((cell) => [cell.getAttribute('role'), cell.textContent])).toEqual([
      ['rowheader', 'H1'],
      ['gridcell', '–'],
      ['gridcell', '<b>x</b>'],
    ]);
    expect(grid.querySelector('[role=columnheader]:nth-child(2)')?.textContent).toBe('toe (mm)');
  });

  it('goes to the last of a million rows and back by keyboard', async () => {
    const grid = await show(millionRows());
    await press(grid, 'End', { ctrlKey: true });
    expect(activeCell(grid)).toEqual({ text: '<b>x</b>', row: '1000001' });
    expect(grid.querySelector('[data-row="999999"] [role=rowheader]')?.textContent).toBe('H999999');
    await press(grid, 'Home');
    expect(activeCell(grid)).toEqual({ text: 'H999999', row: '1000001' });
    await press(grid, 'ArrowUp', { ctrlKey: true });
    await press(grid, 'PageDown');
    expect(activeCell(grid)).toEqual({ text: 'H14', row: '16' });
  });

  it('draws only the columns in view, each at its place, and goes to the last by keyboard', async () => {
    vi.spyOn(HTMLElement.prototype, 'clientWidth', 'get').mockReturnValue(800);
    const names = Array.from({ length: 60 }, (_, at) => `c${at}`);
    const grid = await show({
      rowCount: 5,
      columns: names.map((name) => ({ name, label: name })),
      fetch: async (offset, limit) => {
        const rows = Array.from({ length: limit }, (_, at) => offset + at);
        return makeTable(
          Object.fromEntries(names.map((name) => [name, textColumn(rows.map((row) => `${name}r${row}`))])),
        );
      },
    });
    const cells = () => [...grid.querySelectorAll<HTMLElement>('[data-row="2"] > *')];
    expect(cells().length).toBeLessThan(40);
    expect(cells().at(-1)!.textContent).toBe(`c${cells().length - 1}r2`);
    await press(grid, 'ArrowDown');
    await press(grid, 'End');
    expect(activeCell(grid)).toEqual({ text: 'c59r1', row: '3' });
    const [identity, first] = cells();
    expect(identity!.textContent).toBe('c0r2');
    const skipped = Number(first!.getAttribute('aria-colindex')) - 2;
    expect(skipped).toBeGreaterThan(20);
    const heads = [...grid.querySelectorAll<HTMLElement>('[data-row="-1"] > *')];
    expect(heads).toHaveLength(60);
    const room = heads
      .slice(1, skipped + 1)
      .reduce((sum, { style }) => sum + Number.parseFloat(style.width), 0);
    expect(Number.parseFloat(first!.style.marginLeft)).toBe(room);
    vi.restoreAllMocks();
  });

  it('sorts from a heading by keyboard and by pointer, through both orders and back', async () => {
    const fetched: [number, number, RowSort | null][] = [];
    const grid = await show(millionRows(fetched));
    await press(grid, 'ArrowRight');
    await press(grid, 'ArrowUp');
    await press(grid, 'Enter');
    expect(grid.querySelector('[aria-sort=ascending]')?.textContent).toContain('toe (mm)');
    expect(host.querySelector('[aria-live]')?.textContent).toBe('Sorted by toe, smallest first');
    await press(grid, 'Enter');
    act(() => {
      grid
        .querySelectorAll('[role=columnheader]')[1]!
        .dispatchEvent(new MouseEvent('click', { bubbles: true }));
    });
    await settle();
    expect(fetched.map(([, , sort]) => sort)).toEqual([
      null,
      { column: 'toe', descending: false },
      { column: 'toe', descending: true },
      null,
    ]);
  });

  it('copies the marked rows', async () => {
    const writeText = vi.fn(async (_text: string) => undefined);
    vi.stubGlobal('navigator', { ...navigator, clipboard: { writeText } });
    const grid = await show(millionRows());
    await press(grid, 'ArrowDown');
    await press(grid, 'ArrowDown', { shiftKey: true });
    expect(
      [...grid.querySelectorAll('[aria-selected=true]')].map((row) => row.getAttribute('data-row')),
    ).toEqual(['1', '2']);
    await press(grid, 'c', { ctrlKey: true });
    vi.unstubAllGlobals();
    expect(writeText.mock.calls).toEqual([['horse\ttoe (mm)\tnote\nH1\t\t<b>x</b>\nH2\t0.2\t<b>x</b>']]);
    expect(host.querySelector('[aria-live]')?.textContent).toBe('Copied 2 rows');
  });

  it('hands on the cell that was entered', async () => {
    const onActivate = vi.fn();
    const grid = await show(millionRows(), onActivate);
    await press(grid, 'ArrowDown');
    await press(grid, 'Enter');
    expect(onActivate).toHaveBeenCalledWith(1, 'horse_id');
  });

  it('begins anew with another source, and tells of one that fails', async () => {
    const grid = await show(millionRows());
    await press(grid, 'End', { ctrlKey: true });
    const broken: RowSource = {
      ...millionRows(),
      rowCount: 3,
      fetch: () => Promise.reject(new Error('worker gone')),
    };
    const next = await show(broken);
    expect(next.getAttribute('aria-rowcount')).toBe('4');
    expect(next.getAttribute('aria-activedescendant')).toMatch(/-0-0$/);
    expect(host.querySelector('[role=alert]')?.textContent).toBe('The rows could not be read: worker gone');
  });
});
