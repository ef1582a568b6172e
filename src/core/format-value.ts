import { isoFromDay } from './civil-day.ts';
import { cellAt, type Table } from './table.ts';

/** A column as people read it: what it is called, its unit, and how many digits stand after the point. */
export interface ShownColumn {
  readonly name: string;
  readonly label: string;
  readonly unit?: string;
  readonly digits?: number;
  /** Digits by row, where rows are in several units. */
  readonly digitsAt?: (row: number) => number | undefined;
  /** A number that is no quantity, such as a year: its thousands are not grouped. */
  readonly ungrouped?: true;
}

/** A number with grouped thousands; without stated digits, four significant ones at most. A real minus sign. */
export function formatNumber(value: number, digits?: number): string {
  const format = new Intl.NumberFormat(
    'en-GB',
    digits === undefined
      ? Number.isInteger(value)
        ? { maximumFractionDigits: 0 }
        : { maximumSignificantDigits: 4 }
      : { minimumFractionDigits: digits, maximumFractionDigits: digits },
  );
  // What rounds to 0 has no sign.
  return format
    .format(value)
    .replace(/^-(?=[0.]*$)/, '')
    .replace('-', '−');
}

/** A cell as people read it: a missing one is an en dash. */
export function formatCell(table: Table, column: ShownColumn, row: number): string {
  const value = cellAt(table, column.name, row);
  if (value === null) return '–';
  if (table.columns[column.name]?.type === 'day') return isoFromDay(value as number);
  if (typeof value === 'number')
    return column.ungrouped ? String(value) : formatNumber(value, column.digitsAt?.(row) ?? column.digits);
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  return value;
}

/** `toe regrowth (mm per 30 days)` */
export function columnTitle({ label, unit }: { readonly label: string; readonly unit?: string }): string {
  return unit ? `${label} (${unit})` : label;
}
