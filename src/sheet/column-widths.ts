import { columnTitle, formatCell } from '../core/format-value.ts';
import type { Table } from '../core/table.ts';
import { textWidth } from '../core/text-width.ts';
import type { GridColumn } from './row-source.ts';

export const NARROWEST = 64;
export const WIDEST = 300;
// Of the cell, and for the sign that says how it is sorted.
const PADDING = 34;
const SAMPLE = 100;

/** Widths in px from the headings, with room for what else stands in them, and the first rows if there are any. */
export function columnWidths(columns: readonly GridColumn[], table: Table | null, room = 0): number[] {
  return columns.map((column) => {
    const rows = table && column.name in table.columns ? Math.min(SAMPLE, table.rowCount) : 0;
    let widest = textWidth(columnTitle(column), 15) + room;
    for (let row = 0; row < rows; row += 1) {
      widest = Math.max(widest, textWidth(formatCell(table!, column, row), 15));
    }
    return Math.round(Math.max(NARROWEST, Math.min(WIDEST, widest + PADDING)));
  });
}
