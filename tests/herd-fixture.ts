import { dayFromIso } from '../src/core/civil-day.ts';
import {
  type Column,
  dayColumn,
  makeTable,
  numberColumn,
  type Table,
  textColumn,
} from '../src/core/table.ts';
import { FOOT_VISIT, storedAs } from '../src/herd/dictionary.ts';

type Row = Record<string, string | number | boolean | null>;

/** Foot rows written by hand as objects (dates as ISO text) as the table that intake would give. */
export function visitTable(rows: readonly Row[]): Table {
  const columns: Record<string, Column> = {};
  for (const described of FOOT_VISIT) {
    if (!rows.some((row) => described.name in row)) continue;
    const cells = rows.map((row) => row[described.name] ?? null);
    const stored = storedAs(described);
    columns[described.name] =
      stored === 'day'
        ? dayColumn(cells.map((cell) => (cell === null ? null : dayFromIso(String(cell)))))
        : stored === 'number'
          ? numberColumn(cells as (number | null)[])
          : stored === 'boolean'
            ? { type: 'boolean', values: cells as (boolean | null)[] }
            : textColumn(cells as (string | null)[]);
  }
  columns.source_file = textColumn(rows.map(() => 'hand.csv'));
  columns.source_line = numberColumn(rows.map((_, i) => i + 2));
  return makeTable(columns);
}

export const NO_HORSES: Table = makeTable({ horse_id: textColumn([]) });
