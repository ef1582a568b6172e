import { booleanColumn, makeTable, type Table, textColumn } from '../core/table.ts';
import { type ColumnName, columnOf, isColumnName } from '../herd/dictionary.ts';
import type { Amendment, StoredValue } from './amendment.ts';
import { countingIds } from './history.ts';

interface Line {
  readonly amendment: Amendment;
  readonly action: string;
  readonly row: string | null;
  readonly column: string | null;
  readonly old: StoredValue;
  readonly value: StoredValue;
}

/**
 * The log as a table, oldest first: one line for each cell changed and each value of an added row. `undone` says
 * whether it counts no longer.
 */
export function amendmentTable(log: readonly Amendment[]): Table {
  const counting = countingIds(log);
  const lines = log.flatMap(linesOf);
  const part = (row: string | null, k: number): string | null => row?.split('|').at(k) ?? null;
  const text = (value: StoredValue): string | null => (value === null ? null : String(value));
  return makeTable({
    time: textColumn(lines.map(({ amendment }) => amendment.at)),
    who: textColumn(lines.map(({ amendment }) => amendment.by)),
    action: textColumn(lines.map(({ action }) => action)),
    // A horse’s name may itself hold the sign between the parts.
    horse: textColumn(lines.map(({ row }) => row?.split('|').slice(0, -2).join('|') ?? null)),
    day: textColumn(lines.map(({ row }) => part(row, -2))),
    foot: textColumn(lines.map(({ row }) => part(row, -1)?.replace(/ \d+$/, '') ?? null)),
    column: textColumn(lines.map(({ column }) => column)),
    old: textColumn(lines.map(({ old }) => text(old))),
    new: textColumn(lines.map(({ value }) => text(value))),
    unit: textColumn(
      lines.map(({ column }) => (column && isColumnName(column) ? columnOf(column).unit : null)),
    ),
    reason: textColumn(lines.map(({ amendment }) => amendment.reason)),
    undone: booleanColumn(lines.map(({ amendment }) => !counting.has(amendment.id))),
    id: textColumn(lines.map(({ amendment }) => amendment.id)),
  });
}

function linesOf(amendment: Amendment): Line[] {
  const { deed } = amendment;
  switch (deed.kind) {
    case 'change':
      return [{ amendment, action: 'changed', ...deed }];
    case 'strike':
      return [{ amendment, action: 'struck', row: deed.row, column: null, old: null, value: null }];
    case 'undo':
      return deed.of.map((id) => ({
        amendment,
        action: `undid ${id}`,
        row: null,
        column: null,
        old: null,
        value: null,
      }));
    case 'add':
      return (Object.entries(deed.values) as [ColumnName, StoredValue][])
        .filter(([, value]) => value !== null)
        .map(([column, value]) => ({
          amendment,
          action: deed.mends ? `mended ${deed.mends.file} line ${deed.mends.line}` : 'added',
          row: deed.row,
          column,
          old: null,
          value,
        }));
  }
}
