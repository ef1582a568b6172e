// @vitest-environment jsdom
import { render } from 'preact';
import { act } from 'preact/test-utils';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { makeTable, numberColumn, textColumn, texts } from '../../src/core/table.ts';
import type { CellRange } from '../../src/sheet/cell-range.ts';
import { Grid, type GridProps } from '../../src/sheet/grid.tsx';
import type { GridEditing, Refusal } from '../../src/sheet/grid-editing.ts';
import type { RowSource } from '../../src/sheet/row-source.ts';

const columns = [
  { name: 'horse_id', label: 'Horse' },
  { name: 'toe', label: 'Toe', unit: 'mm', digits: 1 },
  { name: 'ground', label: 'Ground' },
  { name: 'ratio', label: 'Ratio' },
];

/** Rows by name, so that it shows which row a cell was typed in. */
function rowsNamed(name: string, count = 50): RowSource {
  return {
    rowCount: count,
    columns,
    sameAs: 'all',
    async fetch(offset, limit) {
      const rows = Array.from({ length: limit }, (_, at) => offset + at);
      return makeTable({
        row_key: textColumn(rows.map((row) => `${name}${row}`)),
        horse_id: textColumn(rows.map((row) => `${name}${row}`)),
        toe: numberColumn(rows.map((row) => 80 + row / 4)),
        ground: textColumn(rows.map(() => 'soft')),
        ratio: numberColumn(rows.map(() => 2)),
      });
    },
  };
}

interface Typed {
  readonly key: string | null;
  readonly column: string;
  readonly text: string;
}

function recorder(answer: (text: string) => Refusal | null = () => null) {
  const typed: Typed[] = [];
  const cleared: CellRange[] = [];
  const pasted: unknown[] = [];
  const editing: GridEditing = {
    canEdit: ({ name }) => name !== 'ratio',
    choices: ({ name }) => (name === 'ground' ? ['soft', 'mixed', 'firm', 'rocky'] : null),
    accepts: ({ label }) => `what ${label} accepts`,
    async commit({ table, at }, { name }, text) {
      typed.push({ key: texts(table, 'row_key')[at] ?? null, column: name, text });
      return answer(text);
    },
    clear: (range) => cleared.push(range),
    paste: (at, text) => pasted.push([at, text]),
  };
  return { editing, typed, cleared, pasted };
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
async function show(props: Partial<GridProps> & Pick<GridProps, 'editing'>) {
  act(() =>
    render(
      <Grid
        source={rowsNamed('H')}
        label="visits"
        identity={1}
        sort={null}
        onSort={() => undefined}
        {...props}
      />,
      host,
    ),
  );
  await settle();
  const grid = host.querySelector<HTMLElement>('[role=grid]')!;
  if (!field()) grid.focus();
  return grid;
}
const press = async (key: string, more: KeyboardEventInit = {}) => {
  act(() => {
    document.activeElement!.dispatchEvent(
      new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true, ...more }),
    );
  });
  await settle();
};
const type = async (text: string) => {
  const field = host.querySelector<HTMLInputElement>('.cell-editor')!;
  act(() => {
    field.value = text;
    field.dispatchEvent(new InputEvent('input', { bubbles: true }));
  });
  await settle();
};
const active = () => {
  const grid = host.querySelector('[role=grid]')!;
  return grid.getAttribute('aria-activedescendant')?.split('-').slice(-2).join(',');
};
const field = () => host.querySelector<HTMLInputElement>('.cell-editor');
const note = () => host.querySelector('.draft-note [role=status]')?.textContent;

describe('a grid whose cells can be changed', () => {
  it('says which cells cannot be, and is not read-only itself', async () => {
    const { editing } = recorder();
    const grid = await show({ editing });
    expect(grid.hasAttribute('aria-readonly')).toBe(false);
    const cells = [...grid.querySelectorAll('[data-row="0"] > *')];
    expect(cells.map((cell) => cell.getAttribute('aria-readonly'))).toEqual([null, null, null, 'true']);
    await press('End');
    await press('F2');
    expect(field()).toBeNull();
    expect(host.querySelector('.grid-said')?.textContent).toContain('cannot be changed here');
  });

  it('begins by typing in place of the value, by F2 with it, and moves on as it is set', async () => {
    const { editing, typed } = recorder();
    await show({ editing });
    await press('ArrowRight');
    await press('9');
    expect(field()?.value).toBe('9');
    expect(document.activeElement).toBe(field());
    await type('91.5');
    await press('Enter');
    expect(typed).toEqual([{ key: 'H0', column: 'toe', text: '91.5' }]);
    expect(field()).toBeNull();
    expect(active()).toBe('1,1');
    expect(document.activeElement?.getAttribute('role')).toBe('grid');
    await press('F2');
    expect(field()?.value).toBe('80.25');
    await press('Tab');
    // Nothing was changed: nothing is recorded.
    expect(typed).toHaveLength(1);
    expect(active()).toBe('1,2');
  });

  it('leaves the old value on Escape', async () => {
    const { editing, typed } = recorder();
    await show({ editing });
    await press('x');
    await press('Escape');
    expect(field()).toBeNull();
    expect(typed).toEqual([]);
    expect(active()).toBe('0,0');
  });

  it('keeps a refused value in the cell with the reason, until it is mended', async () => {
    const { editing, typed } = recorder((text) =>
      text === '900' ? { reason: 'outside 30 to 180 mm', accepted: '30 to 180 mm' } : null,
    );
    await show({ editing });
    await press('ArrowRight');
    await press('F2');
    expect(note()).toBe('what Toe accepts');
    await type('900');
    await press('Enter');
    expect(field()?.value).toBe('900');
    expect(field()?.getAttribute('aria-invalid')).toBe('true');
    expect(note()).toBe('Not set: outside 30 to 180 mm. Accepted: 30 to 180 mm');
    await type('90');
    await press('Enter');
    expect(typed.map(({ text }) => text)).toEqual(['900', '90']);
    expect(field()).toBeNull();
  });

  it('offers the words of a column and takes the one gone to', async () => {
    const { editing, typed } = recorder();
    await show({ editing });
    await press('ArrowRight');
    await press('ArrowRight');
    await press('Enter');
    const options = () => [...host.querySelectorAll('[role=option]')].map(({ textContent }) => textContent);
    expect(options()).toEqual(['soft', 'mixed', 'firm', 'rocky']);
    expect(field()?.getAttribute('role')).toBe('combobox');
    await press('ArrowDown');
    await press('ArrowDown');
    expect(field()?.value).toBe('mixed');
    const chosen = host.querySelector('[role=option][aria-selected=true]');
    expect(field()?.getAttribute('aria-activedescendant')).toBe(chosen?.id);
    await press('Enter');
    expect(typed.at(-1)).toEqual({ key: 'H0', column: 'ground', text: 'mixed' });
    await press('Enter');
    await type('r');
    expect(options()).toEqual(['rocky']);
  });

  it('sets the cell of the row that was seen, although rows have moved since', async () => {
    const { editing, typed } = recorder();
    await show({ editing });
    await press('ArrowDown');
    await press('F2');
    await show({ editing, source: rowsNamed('other') });
    await type('new name');
    await press('Enter');
    expect(typed).toEqual([{ key: 'H1', column: 'horse_id', text: 'new name' }]);
  });

  it('marks a rectangle with Shift, clears it, copies it as it can be pasted back, and pastes at its corner', async () => {
    const writeText = vi.fn(async (_text: string) => undefined);
    vi.stubGlobal('navigator', { ...navigator, clipboard: { writeText } });
    const { editing, cleared, pasted } = recorder();
    const marked: CellRange[] = [];
    const grid = await show({ editing, onMarked: (range) => marked.push(range) });
    await press('ArrowDown');
    await press('ArrowRight');
    await press('ArrowRight', { shiftKey: true });
    await press('ArrowDown', { shiftKey: true });
    expect(marked.at(-1)).toEqual({ top: 1, bottom: 2, left: 1, right: 2 });
    const selected = [...grid.querySelectorAll('[aria-selected=true]')].map((cell) => cell.textContent);
    expect(selected).toEqual(['80.3', 'soft', '80.5', 'soft']);
    await press('Delete');
    expect(cleared).toEqual([{ top: 1, bottom: 2, left: 1, right: 2 }]);
    await press('c', { ctrlKey: true });
    vi.unstubAllGlobals();
    expect(writeText.mock.calls).toEqual([['80.25\tsoft\n80.5\tsoft']]);
    const paste = new Event('paste', { bubbles: true, cancelable: true });
    Object.assign(paste, { clipboardData: { getData: () => '81\tfirm' } });
    act(() => {
      grid.dispatchEvent(paste);
    });
    expect(pasted).toEqual([[{ row: 1, column: 1 }, '81\tfirm']]);
  });

  it('widens a column from its heading by keyboard, and tells about it', async () => {
    const { editing } = recorder();
    const onWidth = vi.fn();
    const onAbout = vi.fn();
    await show({ editing, onWidth, onAbout });
    await press('ArrowUp');
    await press('ArrowRight', { shiftKey: true });
    await press('ArrowDown', { altKey: true });
    const [column, px] = onWidth.mock.calls[0]!;
    expect(column.name).toBe('horse_id');
    const width = Number.parseFloat(
      host.querySelector<HTMLElement>('[data-row="-1"] [data-column="0"]')!.style.width,
    );
    expect(px).toBe(width + 16);
    expect(onAbout.mock.calls[0]?.[0].name).toBe('horse_id');
  });

  it('goes to a row that it is sent to, and stays inside when rows go', async () => {
    const { editing } = recorder();
    await show({ editing, goTo: { row: 40 } });
    expect(active()).toBe('40,0');
    await show({ editing, source: rowsNamed('H', 10) });
    expect(active()).toBe('9,0');
  });
});
