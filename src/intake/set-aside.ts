import Papa from 'papaparse';
import { isoFromDay } from '../core/civil-day.ts';
import { makeTable, numberColumn, type Table, textColumn } from '../core/table.ts';
import { ONE_CELL_EACH, type Read, type RowFault, wholeRow } from './read.ts';
import { type BrokenRow, type BrokenRun, rawCell, type Source } from './source.ts';

/** A fault of a row of one of several files. */
export interface SetAsideFault extends RowFault {
  readonly read: number;
}

/** The row as delimited text in the file's own separator: the same cells, quoted afresh. */
function rawRow(source: Source, row: number): string {
  const broken = source.broken.get(row);
  if (broken) return rawBroken(source, broken);
  const cells = source.columns.map((column) => {
    const value = rawCell(column, row);
    return column.type === 'day' && typeof value === 'number' ? isoFromDay(value) : value;
  });
  return Papa.unparse([cells], { delimiter: delimiterOf(source) });
}

const delimiterOf = ({ delimiter }: Source): string => delimiter?.delimiter ?? ',';

function rawBroken(source: Source, { cells, stray }: BrokenRow): string {
  const delimiter = delimiterOf(source);
  return stray ? cells.join(delimiter) : Papa.unparse([cells as unknown[]], { delimiter });
}

/**
 * Everything set aside, one line per row and fault; `set_aside_row` numbers the rows from 1, so that a row with two
 * faults counts once. `line` is the physical line in the file. `rows` is 1, but for a run of rows that were counted and
 * not kept, which is told by its first.
 */
export function setAsideTable(reads: readonly Read[], faults: readonly SetAsideFault[]): Table {
  const lines = reads.map((): Told[] => []);
  for (const fault of faults) lines[fault.read]?.push(fault);
  const told = reads.flatMap(({ source }, read) => [
    ...(lines[read] as Told[]).sort((a, b) => a.row - b.row),
    ...source.brokenRuns.map((run): Told => ({ ...wholeRow(-1, run.reason, ONE_CELL_EACH), read, run })),
  ]);
  let rowsTold = 0;
  const ordinal = told.map((one, i) => {
    const before = told[i - 1];
    const isSame =
      !one.run && before?.read === one.read && before.row === one.row && before.foot === one.foot;
    return isSame ? rowsTold : ++rowsTold;
  });
  const sourceOf = ({ read }: Told): Source => (reads[read] as Read).source;
  const text = (of: (one: Told) => string | null) => textColumn(told.map(of));
  return makeTable({
    set_aside_row: numberColumn(ordinal),
    file: text((one) => sourceOf(one).file),
    line: numberColumn(told.map((one) => one.run?.line ?? sourceOf(one).lines[one.row])),
    rows: numberColumn(told.map(({ run }) => run?.rows ?? 1)),
    foot: text(({ foot }) => foot),
    column: text(({ column }) => column),
    value: text(({ value }) => value),
    reason: text(({ reason }) => reason),
    accepted: text(({ accepted }) => accepted),
    horse_id: text(({ read, row, run }) => (run ? null : horseOf(reads[read] as Read, row))),
    raw: text((one) => (one.run ? rawBroken(sourceOf(one), one.run.first) : rawRow(sourceOf(one), one.row))),
  });
}

/** A fault of a row, or a run of rows that are told as one. */
type Told = SetAsideFault & { readonly run?: BrokenRun };

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
