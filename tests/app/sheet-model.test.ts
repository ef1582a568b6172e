import { batch, signal } from '@preact/signals';
import { expect, test } from 'vitest';
import { makeEditing, type SheetCalls } from '../../src/app/editing.ts';
import type { Caller } from '../../src/app/rpc.ts';
import { keptInTab } from '../../src/app/sheet-kept.ts';
import { makeSheetModel } from '../../src/app/sheet-model.ts';
import type { SheetColumn, TypedCell } from '../../src/app/sheet-service.ts';
import { makeTable, numberColumn, textColumn } from '../../src/core/table.ts';
import type { Amendment } from '../../src/sheet/amendment.ts';

const column = (name: string, editable = true): SheetColumn => ({
  name,
  label: name,
  kind: editable ? 'length' : 'derived',
  levels: null,
  editable,
  required: false,
  accepts: `what ${name} accepts`,
});
const COLUMNS = [column('toe_before_mm'), column('toe_after_mm'), column('ratio', false)];
const COUNTS = {
  horses: 1,
  feet: 1,
  visits: 3,
  footVisits: 3,
  cycles: 2,
  flaggedCycles: 0,
  firstDay: 0,
  lastDay: 9,
};

/** Three rows in a worker that takes any number up to 180 for a length. */
interface Odd {
  readonly keep?: (made: readonly Amendment[]) => Promise<void>;
  /** In place of putting changes into effect. */
  readonly applied?: () => Promise<never>;
}

function workbench(options: Odd = {}) {
  const asked: string[] = [];
  const kept: Amendment[] = [];
  const stored = new Map<string, number | null>();
  const values = (name: string) => ['A', 'B', 'C'].map((row) => stored.get(`${row} ${name}`) ?? 80);
  const answers: Record<string, (input: never) => unknown> = {
    sheetColumns: () => COLUMNS,
    sheetCount: () => 3,
    sheetRows: ({ offset, limit }: { readonly offset: number; readonly limit: number }) => {
      const some = <T>(all: readonly T[]) => all.slice(offset, offset + limit);
      return makeTable({
        row_key: textColumn(some(['A', 'B', 'C'])),
        toe_before_mm: numberColumn(some(values('toe_before_mm'))),
        toe_after_mm: numberColumn(some(values('toe_after_mm'))),
        ratio: numberColumn(some([1, 1, 1])),
      });
    },
    judgeCells: (cells: readonly TypedCell[]) =>
      cells.map(({ row, column: name, text }) => {
        const value = text === '' ? null : Number(text);
        const old = stored.get(`${row} ${name}`) ?? 80;
        return value === null || value <= 180
          ? { ok: true, old, value, shown: text }
          : { ok: false, reason: 'too long', accepted: '30 to 180 mm' };
      }),
    applyAmendments: (made: readonly Amendment[]) => {
      if (options.applied) return options.applied();
      for (const { deed } of made) {
        if (deed.kind === 'change') stored.set(`${deed.row} ${deed.column}`, deed.value as number | null);
      }
      return { counts: COUNTS, conflicts: [] };
    },
  };
  const herd = {
    async call(name: string, input: unknown) {
      asked.push(name);
      return answers[name]!(input as never);
    },
  } as unknown as Caller<SheetCalls>;
  const version = signal(0);
  const amend = makeEditing({
    herd,
    keep:
      options.keep ??
      (async (made) => {
        // Nothing may be in effect before it is kept.
        expect(asked).not.toContain('applyAmendments');
        kept.push(...made);
      }),
    applied: () => {
      version.value += 1;
    },
    now: () => '2026-03-09T10:00:00Z',
  });
  const standing = signal('own');
  const model = makeSheetModel({ herd, amend, kept: keptInTab(), version, standing });
  return { model, amend, kept, asked, stored, version, standing };
}

const rest = () => new Promise((resolve) => setTimeout(resolve, 5));

test('a pasted block is judged whole, its good cells become one action, each other cell is told of', async () => {
  const { model, amend, kept } = workbench();
  await rest();
  model.reason.value = ' read off the card ';
  model.editing.paste({ row: 1, column: 0 }, '90\t85\tx\n900\t80\n91\t86\n');
  await rest();
  expect(kept.map(({ deed }) => deed)).toEqual([
    { kind: 'change', row: 'B', column: 'toe_before_mm', old: 80, value: 90 },
    { kind: 'change', row: 'B', column: 'toe_after_mm', old: 80, value: 85 },
  ]);
  expect(new Set(kept.map(({ batch }) => batch)).size).toBe(1);
  expect(kept[0]?.reason).toBe('read off the card');
  expect(amend.log.value).toEqual(kept);
  expect(model.outcome.value?.text).toBe('2 cells set, 1 stood so already, 4 not set.');
  expect(
    model.outcome.value?.faults.map(({ pastedRow, sheetRow, column: name, value, reason }) => [
      pastedRow,
      sheetRow,
      name,
      value,
      reason,
    ]),
  ).toEqual([
    [1, 2, 'ratio', 'x', 'this column cannot be changed here'],
    [2, 3, 'toe_before_mm', '900', 'too long'],
    [3, null, 'toe_before_mm', '91', 'it would stand below the last row'],
    [3, null, 'toe_after_mm', '86', 'it would stand below the last row'],
  ]);
});

test('rows of a herd that no longer stands are gone at once, those of an edited one stay until the new are there', async () => {
  const { model, version, standing } = workbench();
  await rest();
  const before = model.source.value?.sameAs;
  expect(before).toBeDefined();
  version.value += 1;
  expect(model.source.value?.sameAs).toBe(before);
  await rest();
  model.marked.value = { top: 0, bottom: 1, left: 0, right: 0 };
  batch(() => {
    standing.value = 'demo';
    version.value += 1;
  });
  expect(model.source.value).toBeNull();
  expect(model.marked.value).toBeNull();
  await rest();
  expect(model.source.value).not.toBeNull();
  expect(model.source.value?.sameAs).not.toBe(before);
});

test('a range is cleared, and nothing is recorded where nothing changes', async () => {
  const { model, kept } = workbench();
  await rest();
  model.editing.paste({ row: 0, column: 0 }, '80');
  await rest();
  expect(kept).toEqual([]);
  model.editing.clear({ top: 0, bottom: 1, left: 0, right: 0 });
  await rest();
  expect(kept.map(({ deed }) => deed.kind === 'change' && [deed.row, deed.value])).toEqual([
    ['A', null],
    ['B', null],
  ]);
  expect(model.outcome.value?.text).toBe('2 cells cleared.');
});

test('what is kept and does not come into effect is said to be kept', async () => {
  const { model, kept } = workbench({ applied: () => Promise.reject(new Error('a column fails')) });
  await rest();
  model.editing.paste({ row: 0, column: 0 }, '90');
  await rest();
  expect(kept).toHaveLength(1);
  expect(model.outcome.value?.text).toBe(
    'The change is kept, and comes into effect when the records are opened again: a column fails',
  );
});

test('what cannot be kept is not put into effect, and is said', async () => {
  const { model, amend, asked } = workbench({ keep: () => Promise.reject(new Error('the disk is full')) });
  await rest();
  model.editing.paste({ row: 0, column: 0 }, '90');
  await rest();
  expect(model.outcome.value?.text).toBe('Nothing was changed: the disk is full');
  expect(amend.log.value).toEqual([]);
  expect(asked).not.toContain('applyAmendments');
});

test('rows are asked for anew after a change, by the same view', async () => {
  const { model, asked } = workbench();
  await rest();
  const before = model.source.value;
  model.editing.paste({ row: 0, column: 0 }, '90');
  await rest();
  expect(model.source.value).not.toBe(before);
  expect(model.source.value?.sameAs).toBe(before?.sameAs);
  // The same columns stay the same object, so that the grid keeps its widths.
  expect(model.source.value?.columns).toBe(before?.columns);
  const counted = asked.filter((name) => name === 'sheetCount').length;
  model.filters.value = [{ column: 'toe_before_mm', test: 'at least', value: '85' }];
  await rest();
  expect(asked.filter((name) => name === 'sheetCount')).toHaveLength(counted + 1);
  expect(model.source.value?.sameAs).not.toBe(before?.sameAs);
  model.dispose();
  model.filters.value = [];
  await rest();
  expect(asked.filter((name) => name === 'sheetCount')).toHaveLength(counted + 1);
});

test('the marked rows are struck with a reason', async () => {
  const { model, kept } = workbench();
  await rest();
  model.marked.value = { top: 1, bottom: 2, left: 0, right: 1 };
  await model.strikeMarked(' entered twice ');
  expect(kept.map(({ deed, reason }) => [deed, reason])).toEqual([
    [{ kind: 'strike', row: 'B' }, 'entered twice'],
    [{ kind: 'strike', row: 'C' }, 'entered twice'],
  ]);
  expect(model.outcome.value?.text).toBe('2 rows count no longer.');
});
