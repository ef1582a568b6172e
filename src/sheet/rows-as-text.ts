import { isoFromDay } from '../core/civil-day.ts';
import { columnTitle } from '../core/format-value.ts';
import { cellAt, type Table } from '../core/table.ts';
import type { GridColumn } from './row-source.ts';

function plainCell(table: Table, name: string, row: number): string {
  const value = cellAt(table, name, row);
  if (value === null) return '';
  if (table.columns[name]?.type === 'day') return isoFromDay(value as number);
  // A tab or a line break inside a cell would start another one.
  return String(value).replaceAll(/[\t\r\n]+/g, ' ');
}

/** Rows as tab-separated text with a heading line, values unrounded, dates as ISO 8601, missing as nothing. */
export function rowsAsText(table: Table, columns: readonly GridColumn[]): string {
  const lines = [columns.map(columnTitle).join('\t')];
  for (let row = 0; row < table.rowCount; row += 1) {
    lines.push(columns.map(({ name }) => plainCell(table, name, row)).join('\t'));
  }
  return lines.join('\n');
}
