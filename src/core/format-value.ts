import { isoFromDay } from './civil-day.ts';
import { cellAt, type Table } from './table.ts';

/** A column as people read it: what it is called, its unit, and how many digits stand after the point. */
export interface ShownColumn {
  readonly name: string;
  readonly label: string;
  readonly unit?: string;
  readonly digits?: number;
  /** Holds shares of 0 to 1, which are read in per cent; `by-unit` only in rows whose `unit` is `share`, to a tenth of a per cent. */
  readonly share?: true | 'by-unit';
  /** Digits by row, where rows are in several units. */
  readonly digitsAt?: (row: number) => number | undefined;
  /** A number that is no quantity, such as a year: its thousands are not grouped. */
  readonly ungrouped?: true;
}

/** Made once each: to make one takes many times as long as to write a number with it. */
const FORMATS = new Map<number | 'whole' | 'any', Intl.NumberFormat>();

function formatOf(kind: number | 'whole' | 'any'): Intl.NumberFormat {
  const known = FORMATS.get(kind);
  if (known) return known;
  const made = new Intl.NumberFormat(
    'en-GB',
    kind === 'any'
      ? { maximumSignificantDigits: 4 }
      : kind === 'whole'
        ? { maximumFractionDigits: 0 }
        : { minimumFractionDigits: kind, maximumFractionDigits: kind },
  );
  FORMATS.set(kind, made);
  return made;
}

/** A number with grouped thousands; without stated digits, four significant ones at most. A real minus sign. */
export function formatNumber(value: number, digits?: number): string {
  // What rounds to 0 has no sign.
  return formatOf(digits ?? (Number.isInteger(value) ? 'whole' : 'any'))
    .format(value)
    .replace(/^-(?=[0.]*$)/, '')
    .replace('-', '−');
}

/** Per cent of a share: as many figures as it has as a part of 1, and one after the point where none are stated. */
function formatShare(share: number, digits = 3): string {
  return formatNumber(share * 100, Math.max(0, digits - 2));
}

/** A cell as people read it: a missing one is an en dash. */
export function formatCell(table: Table, column: ShownColumn, row: number): string {
  const value = cellAt(table, column.name, row);
  if (value === null) return '–';
  if (table.columns[column.name]?.type === 'day') return isoFromDay(value as number);
  if (typeof value === 'number') {
    const digits = column.digitsAt?.(row) ?? column.digits;
    if (column.share === true) return formatShare(value, digits);
    if (column.share && cellAt(table, 'unit', row) === 'share') return `${formatShare(value)}\u00a0%`;
    return column.ungrouped ? String(value) : formatNumber(value, digits);
  }
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  return value;
}

/** `toe regrowth (mm per 30 days)` */
export function columnTitle({ label, unit }: { readonly label: string; readonly unit?: string }): string {
  return unit ? `${label} (${unit})` : label;
}
