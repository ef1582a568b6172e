import { signal } from '@preact/signals';
import { describe, expect, test } from 'vitest';
import { isAsRecorded, seenTable } from '../../src/app/sheet-as-seen.ts';
import type { SheetColumn } from '../../src/app/sheet-service.ts';
import { makeTable, numberColumn, rowsOf, textColumn } from '../../src/core/table.ts';

const column = (name: string, kind: SheetColumn['kind'] = 'text'): SheetColumn => ({
  name,
  label: name,
  kind,
  levels: null,
  editable: true,
  required: false,
  accepts: '',
});
const RECORD = [column('horse_id'), column('foot'), column('toe_before_mm', 'length')];

interface Parts {
  readonly columns?: SheetColumn[];
  readonly shown?: SheetColumn[];
  readonly filters?: object[];
  readonly sort?: object | null;
}

function sheet({ columns = RECORD, shown = columns, filters = [], sort = null }: Parts) {
  return {
    columns: signal(columns),
    shown: signal({ columns: shown, fixed: 1 }),
    filters: signal(filters),
    sort: signal(sort),
  } as unknown as Parameters<typeof isAsRecorded>[0];
}

describe('the sheet as seen', () => {
  test('is the record where nothing was filtered, sorted, hidden or derived', () => {
    expect(isAsRecorded(sheet({}))).toBe(true);
    expect(isAsRecorded(sheet({ filters: [{ column: 'foot', test: 'present', value: null }] }))).toBe(false);
    expect(isAsRecorded(sheet({ sort: { column: 'foot', descending: true } }))).toBe(false);
    expect(isAsRecorded(sheet({ shown: RECORD.slice(1) }))).toBe(false);
    expect(isAsRecorded(sheet({ columns: [...RECORD, column('half_mm', 'derived')] }))).toBe(false);
  });

  test('is every row of the view in its sort, with the columns shown in their order and no other', async () => {
    const asked: unknown[] = [];
    const rows = makeTable({
      row_key: textColumn(['a', 'b']),
      foot: textColumn(['LF', 'RF']),
      horse_id: textColumn(['A', 'A']),
      toe_before_mm: numberColumn([88, 89]),
      half_mm: numberColumn([44, 44.5]),
    });
    const source = {
      rowCount: 2,
      fetch: async (...of: unknown[]) => {
        asked.push(of);
        return rows;
      },
    };
    const sort = { column: 'foot', descending: false };
    const shown = [column('horse_id'), column('half_mm', 'derived'), column('foot')];
    const table = await seenTable(source, sort, shown);
    expect(asked).toEqual([[0, 2, sort]]);
    expect(Object.keys(table.columns)).toEqual(['horse_id', 'half_mm', 'foot']);
    expect(rowsOf(table)).toEqual([
      { horse_id: 'A', half_mm: 44, foot: 'LF' },
      { horse_id: 'A', half_mm: 44.5, foot: 'RF' },
    ]);
  });
});
