import Papa from 'papaparse';
import { isoFromDay } from '../core/civil-day.ts';
import { makeTable, numberColumn, type Table, textColumn } from '../core/table.ts';
import type { Read, RowFault } from './read.ts';
import { rawCell, type Source } from './source.ts';

/** A fault of a row of one of several files. */
export interface SetAsideFault extends RowFault {
  readonly read: number;
}

/** The row as delimited text in the file's own separator: the same cells, quoted afresh. */
export function rawRow(source: Source, row: number): string {
  const delimiter = source.delimiter?.delimiter ?? ',';
  const broken = source.broken.get(row);
  if (broken?.stray) return broken.cells.join(delimiter);
  const cells =
    broken?.cells ??
    source.columns.map((column) => {
      const value = rawCell(column, row);
      return column.type === 'day' && typeof value === 'number' ? isoFromDay(value) : value;
    });
  return Papa.unparse([cells as unknown[]], { delimiter });
}

/**
 * Everything set aside, one line per row and fault; `set_aside_row` numbers the rows from 1, so that a row with
 * two faults counts once. `line` is the physical line in the file.
 */
export function setAsideTable(reads: readonly Read[], faults: readonly SetAsideFault[]): Table {
  const ordinals = new Map<string, number>();
  const ordered = [...faults].sort((a, b) => a.read - b.read || a.row - b.row);
  const ordinal = ordered.map((f) => {
    const key = rowKey(f);
    const known = ordinals.get(key) ?? ordinals.size + 1;
    ordinals.set(key, known);
    return known;
  });
  const sourceOf = (f: SetAsideFault): Source => (reads[f.read] as Read).source;
  return makeTable({
    set_aside_row: numberColumn(ordinal),
    file: textColumn(ordered.map((f) => sourceOf(f).file)),
    line: numberColumn(ordered.map((f) => sourceOf(f).lines[f.row])),
    foot: textColumn(ordered.map((f) => f.foot)),
    column: textColumn(ordered.map((f) => f.column)),
    value: textColumn(ordered.map((f) => f.value)),
    reason: textColumn(ordered.map((f) => f.reason)),
    accepted: textColumn(ordered.map((f) => f.accepted)),
    horse_id: textColumn(ordered.map((f) => horseOf(reads[f.read] as Read, f.row))),
    raw: textColumn(ordered.map((f) => rawRow(sourceOf(f), f.row))),
  });
}

/** One row set aside: a foot of a source row. */
export function rowKey(f: SetAsideFault): string {
  return `${f.read} ${f.row} ${f.foot ?? ''}`;
}

/** The horse as it stands in the file, for finding one's way. */
function horseOf(read: Read, row: number): string | null {
  const index = read.mapping.columns.findIndex((c) => c.target === 'horse_id');
  const column = read.source.columns[index];
  const value = column && !read.source.broken.has(row) ? rawCell(column, row) : null;
  return value === null || value === '' ? null : String(value).trim();
}
