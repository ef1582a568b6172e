import {
  booleanColumn,
  type Column,
  dayColumn,
  makeTable,
  numberColumn,
  type Table,
  textColumn,
} from '../core/table.ts';
import { type ColumnName, FOOT_VISIT, HORSE_COLUMNS, storedAs } from '../herd/dictionary.ts';
import { fillFromHorses } from './horse-facts.ts';
import type { FileKind } from './mapping.ts';
import type { Read } from './read.ts';
import { cellOf, findRepeats, type RowRef } from './repeats.ts';
import { type FileReport, type IntakeReport, makeReport } from './report.ts';
import { rowKey, type SetAsideFault, setAsideTable } from './set-aside.ts';

export interface Combined {
  /** `foot_visit`: the dictionary's columns, then `source_file` and `source_line`. */
  readonly admitted: Table;
  /** The horses files' rows, the columns of a horse; empty without such a file. */
  readonly horses: Table;
  readonly setAside: Table;
  readonly report: IntakeReport;
}

/** Several files as one record: repeats across all of them judged, horses joined, every row accounted for. */
export function combine(reads: readonly Read[]): Combined {
  const faults: SetAsideFault[] = reads.flatMap((read, index) =>
    read.faults.map((f) => ({ ...f, read: index })),
  );
  const dropped = reads.map((read) => new Uint8Array(read.rows.length));
  for (const kind of ['visits', 'horses'] as const) {
    for (const f of repeatFaults(reads, kind)) {
      faults.push(f.fault);
      (dropped[f.row.read] as Uint8Array)[f.row.candidate] = 1;
    }
  }
  const horses = gather(reads, dropped, 'horses');
  const filled = fillFromHorses(gather(reads, dropped, 'visits'), horses);
  return {
    admitted: filled.visits,
    horses: filled.horses,
    setAside: setAsideTable(reads, faults),
    report: makeReport(fileReports(reads, dropped, faults), filled.notices),
  };
}

/** Reads of the other kind take part with no rows, so that indexes stay those of `reads`. */
function ofKind(reads: readonly Read[], kind: FileKind): Read[] {
  return reads.map((read) => (read.kind === kind ? read : { ...read, rows: new Int32Array(0) }));
}

function repeatFaults(reads: readonly Read[], kind: FileKind): { row: RowRef; fault: SetAsideFault }[] {
  const alike = ofKind(reads, kind);
  const horseNumbers = new Map<string, number>();
  const horseNumber = (ref: RowRef): number => {
    const id = cellOf(alike, ref, 'horse_id') as string;
    const known = horseNumbers.get(id) ?? horseNumbers.size;
    horseNumbers.set(id, known);
    return known;
  };
  const keyOf = (ref: RowRef): number => {
    if (kind === 'horses') return horseNumber(ref);
    const day = cellOf(alike, ref, 'visit_date') as number;
    const foot = (alike[ref.read] as Read).feet[ref.candidate] as number;
    return (horseNumber(ref) * 65_536 + day) * 4 + foot; // days since 1970 stay under 65,536 until 2149
  };
  const compared = kind === 'visits' ? FOOT_VISIT : HORSE_COLUMNS;
  const place = (ref: RowRef, from: RowRef): string => {
    const { source, rows } = alike[ref.read] as Read;
    const line = `line ${source.lines[rows[ref.candidate] as number]}`;
    return ref.read === from.read ? line : `${line} of ${source.file}`;
  };
  const repeats = findRepeats(
    alike,
    keyOf,
    compared.map((c) => c.name),
  );
  return repeats.map((repeat) => {
    const { read, candidate } = repeat.row;
    const { rows } = alike[read] as Read;
    const about = kind === 'visits' ? 'this foot on this day' : 'this horse';
    const reason =
      repeat.kind === 'same'
        ? `the same as ${place(repeat.first, repeat.row)}`
        : `differs from ${listed(repeat.others.map((o) => place(o, repeat.row)))} about ${about}`;
    const accepted = `one row for ${about}`;
    const foot = kind === 'visits' ? (cellOf(alike, repeat.row, 'foot') as SetAsideFault['foot']) : null;
    const fault = { read, row: rows[candidate] as number, foot, column: null, value: null, reason, accepted };
    return { row: repeat.row, fault };
  });
}

const LISTED = 5;

function listed(places: readonly string[]): string {
  const shown = places.slice(0, LISTED).join(', ');
  return places.length > LISTED ? `${shown} and ${places.length - LISTED} more` : shown;
}

function gather(reads: readonly Read[], dropped: readonly Uint8Array[], kind: FileKind): Table {
  const kept: RowRef[] = [];
  reads.forEach(({ kind: of, rows }, read) => {
    if (of !== kind) return;
    for (let candidate = 0; candidate < rows.length; candidate++) {
      if (!dropped[read]?.[candidate]) kept.push({ read, candidate });
    }
  });
  const described = kind === 'visits' ? FOOT_VISIT : HORSE_COLUMNS;
  const columns: Record<string, Column> = {};
  for (const c of described) {
    const name: ColumnName = c.name;
    const values = kept.map((ref) => cellOf(reads, ref, name));
    const stored = storedAs(c);
    if (stored === 'number') columns[name] = numberColumn(values as (number | null)[]);
    else if (stored === 'day') columns[name] = dayColumn(values as (number | null)[]);
    else if (stored === 'boolean') columns[name] = booleanColumn(values as (boolean | null)[]);
    else columns[name] = textColumn(values as (string | null)[]);
  }
  columns.source_file = textColumn(kept.map(({ read }) => (reads[read] as Read).source.file));
  columns.source_line = numberColumn(
    kept.map(({ read, candidate }) => {
      const { source, rows } = reads[read] as Read;
      return source.lines[rows[candidate] as number];
    }),
  );
  return makeTable(columns);
}

function fileReports(
  reads: readonly Read[],
  dropped: readonly Uint8Array[],
  faults: readonly SetAsideFault[],
): FileReport[] {
  const setAside = reads.map(() => new Set<string>());
  for (const f of faults) setAside[f.read]?.add(rowKey(f));
  return reads.map((read, index): FileReport => {
    const { sourceRows, unusableRows, rowsMade, emptyFeet } = read.counts;
    const drops = (dropped[index] as Uint8Array).reduce((sum, d) => sum + d, 0);
    return {
      file: read.source.file,
      kind: read.kind,
      encoding: read.source.encoding?.encoding ?? null,
      delimiter: read.source.delimiter?.delimiter ?? null,
      sourceRows,
      unusableRows,
      rowsRead: rowsMade + unusableRows,
      // Counted from the two sides apart, so that the identity is a check and not a definition.
      admitted: read.rows.length - drops,
      setAside: setAside[index]?.size ?? 0,
      emptyFeet,
    };
  });
}
