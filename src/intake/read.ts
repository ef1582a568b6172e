import { type CivilDay, isoFromDay } from '../core/civil-day.ts';
import { type ColumnName, columnOf, HORSE_COLUMNS } from '../herd/dictionary.ts';
import { FEET, type Foot } from '../herd/vocabularies.ts';
import { acceptedIn } from './accepted.ts';
import { cellParser } from './cell-parser.ts';
import { type FileKind, type MappedColumn, type Mapping, mappingProblems } from './mapping.ts';
import { headerRepeats, isTotals } from './not-a-visit.ts';
import { IntakeRefusal } from './refusal.ts';
import { longerAfterTrim } from './row-rules.ts';
import { breathe, IntList, rawCell, type Source, type SourceColumn } from './source.ts';
import { isFault, type Value } from './values/parsed.ts';

/** One fault of one row; a row with two faults has two. */
export interface RowFault {
  readonly row: number;
  readonly foot: Foot | null;
  /** Header of the faulty cell; null where the whole row is at fault. */
  readonly column: string | null;
  readonly value: string | null;
  readonly reason: string;
  readonly accepted: string;
}

/** A mapped column with every distinct cell read once. */
interface ReadColumn {
  readonly mapped: MappedColumn;
  readonly source: SourceColumn;
  readonly values: readonly Value[];
  readonly faults: readonly (string | null)[];
  readonly faulty: boolean;
}

/**
 * A file read by its mapping. Every source row is either unusable (its cells cannot be told apart, it repeats the
 * header or holds totals, or nothing is recorded for any foot) or makes at least one row; every row made is a candidate or has a fault.
 */
export interface Read {
  readonly kind: FileKind;
  readonly source: Source;
  readonly mapping: Mapping;
  /** Candidates, in order: source row and index of the foot (0 for horses). */
  readonly rows: Int32Array;
  readonly feet: Uint8Array;
  readonly faults: readonly RowFault[];
  readonly counts: ReadCounts;
  /** Columns of the dictionary that the file has. */
  readonly targets: readonly ColumnName[];
  /** How to look up a column of the dictionary by candidate; null where nothing is recorded. */
  readonly reader: (target: ColumnName) => (candidate: number) => Value;
  /** The same for all candidates at once where each source row made one: `values[codes[row]]`. Null where not. */
  readonly column: (target: ColumnName) => CodedValues | null;
}

/** A value for each distinct cell of a column, and which cell each source row holds. */
export interface CodedValues {
  readonly values: readonly Value[];
  readonly codes: Int32Array;
}

export interface ReadCounts {
  readonly sourceRows: number;
  readonly unusableRows: number;
  /** Foot rows (or horses) made from the usable source rows. */
  readonly rowsMade: number;
  /** Feet of wide rows with nothing recorded; they make no row. */
  readonly emptyFeet: number;
}

export interface ReadOptions {
  readonly today: CivilDay;
  readonly signal?: AbortSignal;
  readonly progress?: (fraction: number) => void;
}

const TOTALS = ['a row of totals, not a visit', 'a row for each visit or foot'] as const;
const ROWS_BETWEEN_BREATHS = 100_000;

/** Reads a file by its mapping. Throws `IntakeRefusal` (`mapping`) where the mapping leaves something open. */
export async function readSource(source: Source, mapping: Mapping, options: ReadOptions): Promise<Read> {
  const [problem] = mappingProblems(mapping);
  if (problem) throw new IntakeRefusal(source.file, 'mapping', `${source.file}: ${problem}`);
  const columns = readColumns(source, mapping, options.today);
  const wide = columns.some((c) => c.mapped.foot !== null);
  const perFoot = FEET.map((foot) => byTarget(columns, foot));
  const footColumn = perFoot[0]?.get('foot');
  const dateColumn = perFoot[0]?.get('visit_date');
  const repeatsHeader = headerRepeats(source);
  const rows = new IntList();
  const feet = new IntList();
  const faults: RowFault[] = [];
  let unusableRows = 0;
  let rowsMade = 0;
  let emptyFeet = 0;

  const judge = (row: number, foot: number, columnsOfFoot: ReadonlyMap<ColumnName, ReadColumn>): void => {
    rowsMade++;
    const before = faults.length;
    const named = mapping.kind === 'visits' ? (FEET[foot] ?? null) : null;
    judgeRow(row, named, columnsOfFoot, mapping.kind, faults);
    if (faults.length === before) {
      rows.push(row);
      feet.push(Math.max(foot, 0));
    }
  };

  const simple = mapping.kind === 'visits' && !wide && footColumn !== undefined;
  const suspect = simple ? suspectRows(source, perFoot[0] as ReadonlyMap<ColumnName, ReadColumn>) : null;
  const footOfCode = footColumn?.values.map((value) => FEET.indexOf(value as Foot)) ?? [];
  for (let row = 0; row < source.rowCount; row++) {
    if (row % ROWS_BETWEEN_BREATHS === ROWS_BETWEEN_BREATHS - 1) {
      options.progress?.(row / source.rowCount);
      await breathe(options.signal);
    }
    if (suspect && suspect[row] === 0) {
      rowsMade++;
      rows.push(row);
      feet.push(footOfCode[footColumn?.source.codes[row] ?? -1] as number);
      continue;
    }
    const broken = source.broken.get(row);
    if (broken) {
      unusableRows++;
      faults.push(
        isTotals(source, row)
          ? wholeRow(row, ...TOTALS)
          : wholeRow(row, broken.reason, 'one cell for each column of the header'),
      );
    } else if (repeatsHeader(row)) {
      unusableRows++;
      faults.push(wholeRow(row, 'a repeat of the header', 'the header once, above the rows'));
    } else if (dateColumn && valueAt(dateColumn, row) === null && isTotals(source, row)) {
      unusableRows++;
      faults.push(wholeRow(row, ...TOTALS));
    } else if (mapping.kind === 'horses' || !wide) {
      const foot = footColumn ? FEET.indexOf(valueAt(footColumn, row) as Foot) : 0;
      judge(row, foot, perFoot[Math.max(foot, 0)] as Map<ColumnName, ReadColumn>);
    } else {
      const present = [0, 1, 2, 3].filter((foot) => recorded(columns, FEET[foot] as Foot, row));
      if (present.length === 0) {
        unusableRows++;
        faults.push(wholeRow(row, 'nothing is recorded for any foot', 'a measure or a finding for one foot'));
      } else emptyFeet += 4 - present.length;
      for (const foot of present) judge(row, foot, perFoot[foot] as Map<ColumnName, ReadColumn>);
    }
  }
  options.progress?.(1);
  const sourceRows = rows.done();
  const footIndexes = Uint8Array.from(feet.done());
  return {
    kind: mapping.kind,
    source,
    mapping,
    rows: sourceRows,
    feet: footIndexes,
    faults,
    counts: { sourceRows: source.rowCount, unusableRows, rowsMade, emptyFeet },
    column: (target) => {
      if (target === 'foot' || wide) return null;
      const column = perFoot[0]?.get(target);
      return column ? { values: column.values, codes: column.source.codes } : null;
    },
    targets: columns.map((c) => c.mapped.target as ColumnName).concat(wide ? ['foot'] : []),
    reader: (target) => {
      if (target === 'foot') {
        return mapping.kind === 'visits' ? (i) => FEET[footIndexes[i] as number] ?? null : () => null;
      }
      const columnsByFoot = perFoot.map((columnsOfFoot) => columnsOfFoot.get(target));
      if (columnsByFoot.every((column) => column === undefined)) return () => null;
      return (i) => {
        const column = columnsByFoot[footIndexes[i] as number];
        return column ? valueAt(column, sourceRows[i] as number) : null;
      };
    },
  };
}

/**
 * Rows that must be looked at cell by cell: those that are broken, have a faulty cell, lack a required one or break a
 * rule. All others are rows as they should be; a repeat of the header or a row of totals has no date, and is among the first.
 */
function suspectRows(source: Source, columns: ReadonlyMap<ColumnName, ReadColumn>): Uint8Array {
  const suspect = new Uint8Array(source.rowCount);
  for (const row of source.broken.keys()) suspect[row] = 1;
  for (const [target, { values, faults, source: column }] of columns) {
    const required = columnOf(target).required;
    const bad = Uint8Array.from(values, (value, code) =>
      faults[code] !== null || (required && value === null) ? 1 : 0,
    );
    if (!bad.includes(1)) continue;
    const { codes } = column;
    for (let row = 0; row < codes.length; row++) if (bad[codes[row] as number] === 1) suspect[row] = 1;
  }
  const before = columns.get('toe_before_mm');
  const after = columns.get('toe_after_mm');
  if (before && after) {
    const beforeMm = numbersOf(before.values);
    const afterMm = numbersOf(after.values);
    const { codes: beforeCodes } = before.source;
    const { codes: afterCodes } = after.source;
    for (let row = 0; row < beforeCodes.length; row++) {
      const mm = afterMm[afterCodes[row] as number] as number;
      // Not every longer toe is a fault; the rule itself decides.
      if (mm > (beforeMm[beforeCodes[row] as number] as number)) suspect[row] = 1;
    }
  }
  return suspect;
}

/** Numbers among the values, NaN for others. */
export function numbersOf(values: readonly Value[]): Float64Array {
  return Float64Array.from(values, (value) => (typeof value === 'number' ? value : Number.NaN));
}

function readColumns(source: Source, mapping: Mapping, today: CivilDay): ReadColumn[] {
  const horseTargets = new Set<string>(HORSE_COLUMNS.map((c) => c.name));
  return mapping.columns.flatMap((mapped, index): ReadColumn[] => {
    const column = source.columns[index];
    if (column === undefined) throw new Error(`mapping has a column the file has not: ${mapped.source}`);
    if (mapped.target === null || (mapping.kind === 'horses' && !horseTargets.has(mapped.target))) return [];
    const parse = cellParser(columnOf(mapped.target), {
      unit: mapped.unit,
      // Typed numbers are written out with a point.
      decimal: column.type === 'text' ? mapping.decimal : 'point',
      today,
      dateOrder: mapping.dateOrder === 'ask' ? 'iso' : mapping.dateOrder,
      plusSigns: column.distinct.some((raw) => typeof raw === 'string' && /^\s*\++\s*$/.test(raw)),
    });
    const day = column.type === 'day';
    const values: Value[] = [];
    const faults: (string | null)[] = [];
    for (const raw of column.distinct) {
      const parsed = parse(day && typeof raw === 'number' ? isoFromDay(raw) : raw);
      values.push(isFault(parsed) ? null : parsed);
      faults.push(isFault(parsed) ? parsed.fault : null);
    }
    return [{ mapped, source: column, values, faults, faulty: faults.some((f) => f !== null) }];
  });
}

/** The columns that describe one foot: its own, and those of the whole row. */
function byTarget(columns: readonly ReadColumn[], foot: Foot): Map<ColumnName, ReadColumn> {
  return new Map(
    // A foot's own column goes before one of the whole row.
    [...columns.filter((c) => c.mapped.foot === null), ...columns.filter((c) => c.mapped.foot === foot)].map(
      (c) => [c.mapped.target as ColumnName, c],
    ),
  );
}

function valueAt(column: ReadColumn, row: number): Value {
  return column.values[column.source.codes[row] ?? -1] ?? null;
}

function faultAt(column: ReadColumn, row: number): string | null {
  return column.faulty ? (column.faults[column.source.codes[row] ?? -1] ?? null) : null;
}

/** Is anything, well or badly written, recorded in the columns of this foot? */
function recorded(columns: readonly ReadColumn[], foot: Foot, row: number): boolean {
  return columns.some(
    (c) => c.mapped.foot === foot && (valueAt(c, row) !== null || faultAt(c, row) !== null),
  );
}

function wholeRow(row: number, reason: string, accepted: string): RowFault {
  return { row, foot: null, column: null, value: null, reason, accepted };
}

function judgeRow(
  row: number,
  foot: Foot | null,
  columns: ReadonlyMap<ColumnName, ReadColumn>,
  kind: FileKind,
  faults: RowFault[],
): void {
  const add = (column: ReadColumn, reason: string, accepted: string): void => {
    const value = rawCell(column.source, row);
    const text =
      value === null ? null : column.source.type === 'day' ? isoFromDay(Number(value)) : String(value);
    faults.push({ row, foot, column: column.mapped.source, value: text, reason, accepted });
  };
  for (const [target, column] of columns) {
    const reason = faultAt(column, row);
    const described = columnOf(target);
    if (reason !== null) add(column, reason, acceptedIn(described, column.mapped.unit));
    else if (described.required && valueAt(column, row) === null) {
      add(column, `${described.label.toLowerCase()} is missing`, acceptedIn(described, column.mapped.unit));
    }
  }
  if (kind === 'horses') return;
  const before = columns.get('toe_before_mm');
  const after = columns.get('toe_after_mm');
  if (!before || !after) return;
  const longer = longerAfterTrim(valueAt(before, row), valueAt(after, row));
  if (longer) add(after, longer.reason, longer.accepted);
}
