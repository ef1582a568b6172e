import { isoFromDay } from '../src/core/civil-day.ts';
import type { Cell, Columns } from './foot-row.ts';

/** Quotes a cell where RFC 4180 asks for it. */
export function csvCell(text: string): string {
  return /[",\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

export function csvHeader(columns: Columns): string {
  return `${Object.keys(columns).join(',')}\n`;
}

/** One row as text cells: days as ISO 8601, booleans as true and false, missing as empty. */
export function textCells(row: object, columns: Columns): string[] {
  const cells = row as Record<string, Cell>;
  return Object.entries(columns).map(([name, kind]) => {
    const value = cells[name] ?? null;
    return value === null ? '' : kind === 'day' ? isoFromDay(value as number) : String(value);
  });
}

export function csvLine(cells: readonly string[]): string {
  return `${cells.map(csvCell).join(',')}\n`;
}
