import { type CivilDay, isoFromDay } from '../core/civil-day.ts';
import { pacer } from '../core/pacing.ts';
import { type ColumnName, columnOf } from '../herd/dictionary.ts';
import { FEET, type Foot } from '../herd/vocabularies.ts';
import { acceptedIn } from './accepted.ts';
import { type FileKind, type Mapping, mappingProblems } from './mapping.ts';
import { headerRepeats, isTotals } from './not-a-visit.ts';
import { byTarget, type CodedValues, faultAt, type ReadColumn, readColumns, valueAt } from './read-column.ts';
import { IntakeRefusal } from './refusal.ts';
import { longerAfterTrim } from './row-rules.ts';
import { IntList, rawCell, rowsInFile, type Source } from './source.ts';
import { suspectRows } from './suspect-rows.ts';
import type { Value } from './values/parsed.ts';

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

/**
 * A file read by its mapping. Every source row is either unusable (its cells cannot be told apart, it repeats the
 * header or holds totals, or nothing is recorded for any foot) or makes at least one row; every row made is a candidate or has a fault.
 * Of broken rows beyond so many (`source.brokenRuns`) there are only counts.
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
  /** A source row holds several feet, each in columns of its own. */
  readonly wide: boolean;
  /**
   * The same for all candidates at once: `values[codes[row]]` by source row. In a wide file of one foot, by its place
   * among the feet; null where the column is not there.
   */
  readonly column: (target: ColumnName, foot?: number) => CodedValues | null;
}

interface ReadCounts {
  readonly sourceRows: number;
  readonly unusableRows: number;
  /** Foot rows (or horses) made from the usable source rows. */
  readonly rowsMade: number;
  /** Feet of wide rows with nothing recorded; they make no row. */
  readonly emptyFeet: number;
}

interface ReadOptions {
  readonly today: CivilDay;
  readonly signal?: AbortSignal;
  readonly progress?: (fraction: number) => void;
}

const TOTALS = ['a row of totals, not a visit', 'a row for each visit or foot'] as const;
/** What would be accepted in place of a row whose cells cannot be told apart. */
export const ONE_CELL_EACH = 'one cell for each column of the header';
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
  const rows = new IntList(source.rowCount);
  const feet = new IntList(source.rowCount);
  const faults: RowFault[] = [];
  let unusableRows = rowsInFile(source) - source.rowCount;
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
  const pause = pacer(options.signal);
  for (let row = 0; row < source.rowCount; row++) {
    if (row % ROWS_BETWEEN_BREATHS === ROWS_BETWEEN_BREATHS - 1) {
      options.progress?.(row / source.rowCount);
      await pause();
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
        isTotals(source, row) ? wholeRow(row, ...TOTALS) : wholeRow(row, broken.reason, ONE_CELL_EACH),
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
  const footIndexes = new Uint8Array(feet.done());
  return {
    kind: mapping.kind,
    source,
    mapping,
    rows: sourceRows,
    feet: footIndexes,
    faults,
    counts: { sourceRows: rowsInFile(source), unusableRows, rowsMade, emptyFeet },
    wide,
    column: (target, foot) =>
      target === 'foot' || (wide && foot === undefined)
        ? null
        : (perFoot[foot ?? 0]?.get(target)?.coded ?? null),
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

/** Is anything, well or badly written, recorded in the columns of this foot? */
function recorded(columns: readonly ReadColumn[], foot: Foot, row: number): boolean {
  return columns.some(
    (c) => c.mapped.foot === foot && (valueAt(c, row) !== null || faultAt(c, row) !== null),
  );
}

/** A fault of a row as a whole. */
export function wholeRow(row: number, reason: string, accepted: string): RowFault {
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
