import type { Column, Table } from '../core/table.ts';
import type { RowSort } from '../sheet/row-source.ts';
import type { SheetModel } from './sheet-model.ts';

/** Whether the sheet shows every column of the record and no other, every row, and these in their usual order. */
export function isAsRecorded(model: Pick<SheetModel, 'columns' | 'shown' | 'filters' | 'sort'>): boolean {
  return (
    model.filters.value.length === 0 &&
    model.sort.value === null &&
    model.columns.value.every(({ kind }) => kind !== 'derived') &&
    model.shown.value.columns.length === model.columns.value.length
  );
}

/** Rows of the sheet with what is shown of them, in the order shown; lengths in mm, as stored. */
export async function seenTable(
  source: {
    readonly rowCount: number;
    fetch(offset: number, limit: number, sort: RowSort | null): Promise<Table>;
  },
  sort: RowSort | null,
  shown: readonly { readonly name: string }[],
): Promise<Table> {
  const whole = await source.fetch(0, source.rowCount, sort);
  const columns = shown.flatMap(({ name }): [string, Column][] => {
    const column = whole.columns[name];
    return column ? [[name, column]] : [];
  });
  return { rowCount: whole.rowCount, columns: Object.fromEntries(columns) };
}
