import { describe, expect, test } from 'vitest';
import { texts } from '../../src/core/table.ts';
import type { Amendment, Deed, StoredValue } from '../../src/sheet/amendment.ts';
import { amendmentTable } from '../../src/sheet/amendment-table.ts';
import { effectOf, type RowValues, rowsTouched } from '../../src/sheet/effect.ts';
import { settleIdentities } from '../../src/sheet/identities.ts';
import { newRowKey } from '../../src/sheet/row-key.ts';

const amend = (id: string, deed: Deed): Amendment => ({
  id,
  at: '2026-06-01T10:00:00Z',
  batch: id,
  by: 'me',
  reason: 'slip of the pen',
  deed,
});
const KEY = 'A|2026-03-09|LF';
const toe = (id: string, old: StoredValue, value: StoredValue): Amendment =>
  amend(id, { kind: 'change', row: KEY, column: 'toe_before_mm', old, value });
const undo = (id: string, ...of: string[]): Amendment => amend(id, { kind: 'undo', of });
const SOURCE: RowValues = { horse_id: 'A', visit_date: '2026-03-09', foot: 'LF', toe_before_mm: 85 };
const effect = (log: readonly Amendment[], source: RowValues | null = SOURCE) => {
  const { rows, conflicts } = effectOf(log, (row) => (row === KEY ? source : null));
  return {
    ...rows.get(KEY)!,
    conflicts: conflicts.map(({ reason, found, amendment }) => [amendment.id, reason, found]),
  };
};

describe('what a log makes of a cell', () => {
  test('the last change that counts', () => {
    expect(effect([toe('1', 85, 86), toe('2', 86, 87)]).values).toEqual({ toe_before_mm: 87 });
    expect(effect([toe('1', 85, 86), toe('2', 86, 87), undo('3', '2')]).values).toEqual({
      toe_before_mm: 86,
    });
    expect(effect([toe('1', 85, 86), toe('2', 86, 87), undo('3', '1')]).values).toEqual({
      toe_before_mm: 87,
    });
  });

  test('an undo undone counts again', () => {
    expect(effect([toe('1', 85, 86), undo('2', '1')]).values).toEqual({});
    expect(effect([toe('1', 85, 86), undo('2', '1'), undo('3', '2')]).values).toEqual({ toe_before_mm: 86 });
    expect(effect([toe('1', 85, 86), undo('2', '1'), undo('3', '2'), undo('4', '3')]).values).toEqual({});
  });

  test.each([
    ['the source still has what was changed', 85, { toe_before_mm: 87 }, []],
    ['the source has another value now', 90, {}, [['2', 'value has changed', 90]]],
    ['the source was put right as well', 87, {}, []],
  ])('%s', (_, found, values, conflicts) => {
    const log = [toe('1', 85, 86), toe('2', 86, 87)];
    expect(effect(log, { ...SOURCE, toe_before_mm: found })).toMatchObject({ values, conflicts });
  });

  test('a change made anew over a conflict fits', () => {
    const log = [toe('1', 85, 86), toe('2', 90, 91)];
    expect(effect(log, { ...SOURCE, toe_before_mm: 90 })).toMatchObject({
      values: { toe_before_mm: 91 },
      conflicts: [],
    });
  });

  test('a row that is gone is a conflict, one struck and gone is none', () => {
    expect(effect([toe('1', 85, 86)], null)).toMatchObject({
      there: false,
      conflicts: [['1', 'row is gone', null]],
    });
    expect(effect([amend('1', { kind: 'strike', row: KEY })], null)).toMatchObject({
      there: false,
      conflicts: [],
    });
  });
});

describe('what a log makes of a row', () => {
  const add = amend('1', { kind: 'add', row: KEY, values: { ...SOURCE, terrain: null }, mends: null });

  test('added, then changed', () => {
    expect(effect([add, toe('2', 85, 88)], null)).toMatchObject({
      there: true,
      values: { toe_before_mm: 88 },
      conflicts: [],
    });
  });

  test('added and taken back: what was changed in it is no conflict', () => {
    expect(effect([add, toe('2', 85, 88), undo('3', '1')], null)).toMatchObject({
      there: false,
      conflicts: [],
    });
  });

  test('that the newer export has as well, alike or otherwise', () => {
    expect(effect([add])).toMatchObject({ there: true, added: null, conflicts: [] });
    expect(effect([add], { ...SOURCE, toe_before_mm: 99 })).toMatchObject({
      there: true,
      values: {},
      conflicts: [['1', 'row is there already', null]],
    });
  });

  test('is found through an undo of an undo', () => {
    const log = [toe('1', 85, 86), undo('2', '1'), undo('3', '2')];
    expect([...rowsTouched([log[2]!], log)]).toEqual([KEY]);
  });
});

describe('one row for a foot on a day', () => {
  const moved = (row: string, day: string): Amendment =>
    amend(`to ${day}`, { kind: 'change', row, column: 'visit_date', old: row.split('|')[1]!, value: day });
  const source = (row: string): RowValues | null => {
    const [horse_id, visit_date, foot] = row.split('|') as [string, string, string];
    return { horse_id, visit_date, foot };
  };

  test('a row moved onto another stays where it was', () => {
    const log = [moved('A|2026-03-09|LF', '2026-04-20')];
    const { rows } = effectOf(log, source);
    const settled = settleIdentities(log, rows, source, new Set(['A|2026-04-20|LF']));
    expect(settled.rows.get('A|2026-03-09|LF')).toMatchObject({ there: true, values: {} });
    expect(settled.conflicts.map(({ reason }) => reason)).toEqual(['row is there already']);
  });

  test('two rows may change places', () => {
    const log = [moved('A|2026-03-09|LF', '2026-04-20'), moved('A|2026-04-20|LF', '2026-03-09')];
    const { rows } = effectOf(log, source);
    expect(settleIdentities(log, rows, source, new Set()).conflicts).toEqual([]);
  });

  test('a new row takes a name that no other bears', () => {
    const taken = new Set(['A|2026-03-09|LF', 'A|2026-03-09|LF 2']);
    expect(newRowKey('A|2026-03-09|LF', (key) => taken.has(key))).toBe('A|2026-03-09|LF 3');
  });
});

test('the log as a table says what counts no longer', () => {
  const table = amendmentTable([toe('1', 85, 86), undo('2', '1')]);
  expect(texts(table, 'horse')[0]).toBe('A');
  expect(texts(table, 'day')[0]).toBe('2026-03-09');
  expect(texts(table, 'old')[0]).toBe('85');
  expect(texts(table, 'new')[0]).toBe('86');
  expect(table.columns.undone?.values).toEqual([true, false]);
});
