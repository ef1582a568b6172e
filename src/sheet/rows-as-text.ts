import { isoFromDay } from '../core/civil-day.ts';
import { columnTitle } from '../core/format-value.ts';
import { cellAt, type Table } from '../core/table.ts';
import type { GridColumn } from './row-source.ts';

/** A cell as it is typed or copied: unrounded, a date as ISO 8601, `yes` or `no`, missing as nothing. */
export function plainCell(table: Table, name: string, row: number): string {
  const value = name in table.columns ? cellAt(table, name, row) : null;
  if (value === null) return '';
  if (table.columns[name]?.type === 'day') return isoFromDay(value as number);
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  return String(value);
}

/** A tab or a line break inside a cell would start another one. */
const copied = (text: string) => text.replaceAll(/[\t\r\n]+/g, ' ');

/** Cells as tab-separated text, as they can be pasted back. */
export function cellsAsText(table: Table, columns: readonly GridColumn[]): string {
  const lines: string[] = [];
  for (let row = 0; row < table.rowCount; row += 1) {
    lines.push(columns.map(({ name }) => copied(plainCell(table, name, row))).join('\t'));
  }
  return lines.join('\n');
}

/** Rows as tab-separated text with a heading line, values unrounded, dates as ISO 8601, missing as nothing. */
export function rowsAsText(table: Table, columns: readonly GridColumn[]): string {
  return [columns.map(columnTitle).join('\t'), ...(table.rowCount ? [cellsAsText(table, columns)] : [])].join(
    '\n',
  );
}
