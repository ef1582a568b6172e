import type { Table } from '../core/table.ts';
import type { TablePieces } from '../core/table-pieces.ts';
import { FOOT_VISIT, HORSE_COLUMNS } from '../herd/dictionary.ts';
import { byBytes } from '../herd/row-order.ts';
import { FEET } from '../herd/vocabularies.ts';
import { gather } from './gather.ts';
import type { FileKind } from './mapping.ts';
import { noticesOf } from './notices.ts';
import type { Read } from './read.ts';
import { numbersOf } from './read-column.ts';
import { findRepeats, type RowRef } from './repeats.ts';
import { type FileReport, type IntakeReport, makeReport } from './report.ts';
import { rowOrder } from './row-order.ts';
import { rowKey, type SetAsideFault, setAsideTable } from './set-aside.ts';
import { rowsInFile } from './source.ts';
import { type Taken, takenOf } from './taken.ts';
import { titleWords } from './title-lines.ts';

export interface Combined {
  /**
   * Foot rows by horse, day and foot, whatever the order of the files: the dictionary's columns that any file has, then
   * `source_file` and `source_line`.
   */
  readonly visits: TablePieces;
  /** The same as one table, made when it is asked for. */
  readonly admitted: Table;
  /** The horses files' rows: the columns of a horse that they have; no rows without such a file. */
  readonly horses: Table;
  readonly setAside: Table;
  readonly report: IntakeReport;
}

/** Several files as one record: repeats across all of them judged, every row accounted for. */
export function combine(reads: readonly Read[]): Combined {
  const faults: SetAsideFault[] = reads.flatMap((read, index) =>
    read.faults.map((f) => ({ ...f, read: index })),
  );
  const dropped = reads.map((read) => new Uint8Array(read.rows.length));
  const keys = { visits: keysOf(reads, 'visits'), horses: keysOf(reads, 'horses') };
  for (const kind of ['visits', 'horses'] as const) {
    for (const f of repeatFaults(reads, kind, keys[kind])) {
      faults.push(f.fault);
      (dropped[f.row.read] as Uint8Array)[f.row.candidate] = 1;
    }
  }
  const [ofVisits, ofHorses] = [takenOf(reads, dropped, 'visits'), takenOf(reads, dropped, 'horses')];
  const visits = gather(ofVisits, 'visits', orderOf(ofVisits, keys.visits));
  const horses = gather(ofHorses, 'horses', null);
  let whole: Table | null = null;
  return {
    visits,
    get admitted() {
      whole ??= visits.piece(0, visits.rowCount);
      return whole;
    },
    horses: horses.piece(0, horses.rowCount),
    setAside: setAsideTable(reads, faults),
    report: makeReport(fileReports(reads, dropped, faults), [
      ...titleNotices(reads),
      ...noticesOf(visits, horses),
    ]),
  };
}

function titleNotices(reads: readonly Read[]): string[] {
  return reads.flatMap(({ source: { file, titles } }) =>
    titleWords(titles) === ''
      ? []
      : [`${file}: not read as rows, as it stands above the header: “${titleWords(titles)}”.`],
  );
}

function repeatFaults(
  reads: readonly Read[],
  kind: FileKind,
  { keys }: Keys,
): { row: RowRef; fault: SetAsideFault }[] {
  const compared = kind === 'visits' ? FOOT_VISIT : HORSE_COLUMNS;
  const names = compared.map((c) => c.name);
  const about = kind === 'visits' ? 'this foot on this day' : 'this horse';
  const place = (ref: RowRef, from: RowRef): string => {
    const { source, rows } = reads[ref.read] as Read;
    const line = `line ${source.lines[rows[ref.candidate] as number]}`;
    return ref.read === from.read ? line : `${line} of ${source.file}`;
  };
  return findRepeats(reads, keys, names).map((repeat) => {
    const { read, candidate } = repeat.row;
    const { rows, feet } = reads[read] as Read;
    const reason =
      repeat.kind === 'same'
        ? `the same as ${place(repeat.first, repeat.row)}`
        : `differs from ${listed(
            repeat.others.map((o) => place(o, repeat.row)),
            repeat.many,
          )} about ${about}`;
    const accepted = `one row for ${about}`;
    const foot = kind === 'visits' ? (FEET[feet[candidate] as number] ?? null) : null;
    const fault = { read, row: rows[candidate] as number, foot, column: null, value: null, reason, accepted };
    return { row: repeat.row, fault };
  });
}

/** Four feet a day; days since 1970 stay under 65,536 until 2149. */
const KEYS_A_HORSE = 65_536 * 4;

/** A number for each candidate of one kind, the same for the same horse (foot, and day); reads of the other kind have none. */
interface Keys {
  readonly keys: readonly Float64Array[];
  /** The part of the number that each horse has. */
  readonly horses: ReadonlyMap<string, number>;
}

function keysOf(reads: readonly Read[], kind: FileKind): Keys {
  const horses = new Map<string, number>();
  const keys = reads.map((read) => {
    if (read.kind !== kind) return new Float64Array(0);
    const quick = kind === 'visits' ? quickKeys(read, horses) : null;
    if (quick) return quick;
    const horseAt = read.reader('horse_id');
    const dayAt = read.reader('visit_date');
    return Float64Array.from(read.rows, (_, candidate) => {
      const id = horseAt(candidate) as string;
      let horse = horses.get(id);
      if (horse === undefined) {
        horse = horses.size;
        horses.set(id, horse);
      }
      if (kind === 'horses') return horse;
      return horse * KEYS_A_HORSE + (dayAt(candidate) as number) * 4 + (read.feet[candidate] as number);
    });
  });
  return { keys, horses };
}

/** The same from the codes of the columns, each distinct horse and day looked at once. */
function quickKeys(read: Read, horses: Map<string, number>): Float64Array | null {
  const horse = read.column('horse_id');
  const date = read.column('visit_date');
  if (!horse || !date) return null;
  const days = numbersOf(date.values);
  const numbers = new Int32Array(horse.values.length).fill(-1);
  const keys = new Float64Array(read.rows.length);
  for (let candidate = 0; candidate < keys.length; candidate++) {
    const row = read.rows[candidate] as number;
    const code = horse.codes[row] as number;
    if (numbers[code] === -1) {
      const id = horse.values[code] as string;
      if (!horses.has(id)) horses.set(id, horses.size);
      numbers[code] = horses.get(id) as number;
    }
    const day = days[date.codes[row] as number] as number;
    keys[candidate] = (numbers[code] as number) * KEYS_A_HORSE + day * 4 + (read.feet[candidate] as number);
  }
  return keys;
}

function listed(places: readonly string[], total: number): string {
  const more = total - places.length;
  return more > 0 ? `${places.join(', ')} and ${more} more` : places.join(', ');
}

/** Which row comes at each place by horse, day and foot; null where they stand so already. */
function orderOf(taking: readonly Taken[], { keys, horses }: Keys): Int32Array | null {
  const rowCount = taking.reduce((sum, { kept }) => sum + kept.length, 0);
  const horse = new Int32Array(rowCount);
  const dayFoot = new Int32Array(rowCount);
  let at = 0;
  for (const { index, kept } of taking) {
    const keysOfRead = keys[index] as Float64Array;
    for (const candidate of kept) {
      const key = keysOfRead[candidate] as number;
      const number = Math.floor(key / KEYS_A_HORSE);
      horse[at] = number;
      // The remainder: of numbers with a point the machine has none, and it is slow.
      dayFoot[at++] = key - number * KEYS_A_HORSE;
    }
  }
  const rank = new Int32Array(horses.size);
  [...horses.entries()]
    .sort(([a], [b]) => byBytes(a, b))
    .forEach(([, number], place) => {
      rank[number] = place;
    });
  return rowOrder(horse, rank, dayFoot);
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
      setAside: (setAside[index]?.size ?? 0) + rowsInFile(read.source) - read.source.rowCount,
      emptyFeet,
    };
  });
}
