import { cellAt, type Table } from './table.ts';

export interface RowSort {
  readonly by: string;
  readonly order: 'ascending' | 'descending';
}

/** By code units, as the engine orders texts of plain letters. */
export const byText = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

const compareText = new Intl.Collator('en', { numeric: true }).compare;

/** Row numbers in the order wanted; missing values last either way, ties as they stood. Throws on an unknown column. */
export function sortedRows(table: Table, sort: RowSort | undefined): number[] {
  const rows = Array.from({ length: table.rowCount }, (_, row) => row);
  if (!sort) return rows;
  if (!table.columns[sort.by]) throw new Error(`sort must name a column of the data: ${sort.by}`);
  const values = rows.map((row) => cellAt(table, sort.by, row));
  const sign = sort.order === 'descending' ? -1 : 1;
  return rows.sort((a, b) => {
    const [left, right] = [values[a]!, values[b]!];
    if (left === null || right === null) return Number(left === null) - Number(right === null);
    const order = typeof left === 'string' ? compareText(left, String(right)) : Number(left) - Number(right);
    return sign * order || a - b;
  });
}
