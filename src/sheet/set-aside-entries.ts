import { cellAt, type Table } from '../core/table.ts';

/** A row set aside, as amendments name it. */
interface SetAsideRow {
  readonly file: string;
  readonly line: number;
  readonly foot: string | null;
}

export const setAsideKey = ({ file, line, foot }: SetAsideRow): string => JSON.stringify([file, line, foot]);

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
