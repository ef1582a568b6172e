import { columnTitle, formatCell } from '../core/format-value.ts';
import type { Table } from '../core/table.ts';
import { textWidth } from '../core/text-width.ts';
import type { GridColumn } from './row-source.ts';

export const NARROWEST = 64;
const WIDEST = 300;
// Of the cell, and for the sign that says how it is sorted.
const PADDING = 34;
const SAMPLE = 100;

/** A heading over two lines breaks between words: the longer line is somewhat more than half. */
const LONGER_LINE = 0.62;

export interface HeadingSize {
  /** px for what else stands in a heading. */
  readonly room: number;
  readonly lines: 1 | 2;
}

/** Widths in px from the headings and the first rows; without rows, from the headings. */
export function columnWidths(
  columns: readonly GridColumn[],
  table: Table | null,
  { room, lines }: HeadingSize = { room: 0, lines: 1 },
): number[] {
  return columns.map((column) => {
    const rows = table && column.name in table.columns ? Math.min(SAMPLE, table.rowCount) : 0;
    const title = columnTitle(column);
    // A title of one or two words is not broken.
    const breaks = lines === 2 && title.split(' ').length > 2;
    let widest = textWidth(title, 15) * (breaks ? LONGER_LINE : 1) + room;
    for (let row = 0; row < rows; row += 1) {
      widest = Math.max(widest, textWidth(formatCell(table!, column, row), 15));
    }
    return Math.round(Math.max(NARROWEST, Math.min(WIDEST, widest + PADDING)));
  });
}
