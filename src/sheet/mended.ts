import { cellAt, type Table } from '../core/table.ts';
import type { Amendment } from './amendment.ts';
import { countingIds } from './history.ts';

/** A row set aside, as amendments name it. */
export interface SetAsideRow {
  readonly file: string;
  readonly line: number;
  readonly foot: string | null;
}

export const setAsideKey = ({ file, line, foot }: SetAsideRow): string => JSON.stringify([file, line, foot]);

/** Rows set aside that a counting amendment has put in the record; `failing` are those that do not fit these files. */
export function mendedRows(
  log: readonly Amendment[],
  failing: ReadonlySet<string> = new Set(),
): ReadonlyMap<string, SetAsideRow> {
  const counting = countingIds(log);
  const mended = new Map<string, SetAsideRow>();
  for (const { id, deed } of log) {
    if (deed.kind !== 'add' || !deed.mends || !counting.has(id) || failing.has(id)) continue;
    mended.set(setAsideKey(deed.mends), deed.mends);
  }
  return mended;
}

/** A row set aside with its lines in the table of faults. */
export interface SetAsideEntry extends SetAsideRow {
  readonly reasons: readonly string[];
  readonly accepted: readonly string[];
  readonly horse: string | null;
  readonly raw: string;
}

/** The rows of a table of faults, each once, in its order. */
export function setAsideEntries(table: Table): SetAsideEntry[] {
  const entries = new Map<number, SetAsideEntry & { reasons: string[]; accepted: string[] }>();
  const text = (name: string, row: number) => (cellAt(table, name, row) as string | null) ?? '';
  for (let row = 0; row < table.rowCount; row += 1) {
    const number = cellAt(table, 'set_aside_row', row) as number;
    const column = cellAt(table, 'column', row) as string | null;
    const entry = entries.get(number) ?? {
      file: text('file', row),
      line: cellAt(table, 'line', row) as number,
      foot: cellAt(table, 'foot', row) as string | null,
      horse: cellAt(table, 'horse_id', row) as string | null,
      raw: text('raw', row),
      reasons: [],
      accepted: [],
    };
    entry.reasons.push(column ? `${column}: ${text('reason', row)}` : text('reason', row));
    entry.accepted.push(text('accepted', row));
    entries.set(number, entry);
  }
  return [...entries.values()];
}

interface Counted {
  readonly file: string;
  readonly admitted: number;
  readonly setAside: number;
}

/** The books with what was mended counted as admitted: rows read = admitted + set aside still holds. */
export function booksMended<B extends Counted>(
  books: readonly B[],
  mended: ReadonlyMap<string, SetAsideRow>,
): (B & { readonly mended: number })[] {
  const rows = [...mended.values()];
  return books.map((book) => {
    // Never more than there are: a newer export may have fewer rows set aside.
    const count = Math.min(book.setAside, rows.filter(({ file }) => file === book.file).length);
    return {
      ...book,
      admitted: book.admitted + count,
      setAside: book.setAside - count,
      mended: count,
    };
  });
}
