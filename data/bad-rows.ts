import { type FootRow, VISIT_COLUMNS } from './foot-row.ts';
import { textCells } from './write-csv.ts';

export type BadKind =
  | 'impossible-date'
  | 'future-date'
  | 'missing-date'
  | 'missing-horse'
  | 'unknown-foot'
  | 'unknown-level'
  | 'text-in-number'
  | 'implausible-length'
  | 'negative-length'
  | 'implausible-grade'
  | 'after-longer-than-before'
  | 'duplicate'
  | 'conflicting';

/** One row that must not be counted, and why; `line` is the physical line of the CSV where its record begins. */
export interface BadRow {
  line: number;
  readonly kind: BadKind;
  readonly column: keyof FootRow | null;
  readonly value: string;
  readonly reason: string;
  readonly horseId: string;
  readonly visitDate: string;
  readonly foot: string;
}

/** One record of the CSV as it will be written. */
export interface CsvRecord {
  readonly cells: string[];
  bad: BadRow | null;
}

interface Spoiling {
  readonly at: number;
  readonly kind: BadKind;
  readonly column: keyof FootRow;
  readonly value: string | ((row: FootRow) => string);
  readonly reason: string;
}

/** Values spoilt in place; `at` is where in the file, as a share of its rows. */
const SPOILT: readonly Spoiling[] = [
  s(0.07, 'unknown-foot', 'foot', 'XF', 'no such foot'),
  s(0.15, 'implausible-length', 'toe_before_mm', '850', 'a toe of 850 mm: 85.0 without its point'),
  s(0.22, 'missing-horse', 'horse_id', '', 'no horse'),
  s(0.307, 'impossible-date', 'visit_date', '2024-02-31', 'February has no 31st'),
  s(0.4, 'implausible-grade', 'separation_grade', '9', 'grades run from 0 to 3'),
  s(0.47, 'text-in-number', 'toe_before_mm', 'long', 'text where a length belongs'),
  s(0.55, 'future-date', 'visit_date', '2203-05-14', 'a year not reached yet'),
  s(
    0.62,
    'after-longer-than-before',
    'toe_after_mm',
    (row) => String(row.toe_before_mm! + 24),
    'the toe cannot be 24 mm longer after the trim',
  ),
  s(0.68, 'missing-date', 'visit_date', '', 'no date'),
  s(0.76, 'unknown-level', 'moisture', 'swampish', 'not one of dry, mixed, wet'),
  s(0.84, 'negative-length', 'heel_before_mm', '-31', 'a length below zero'),
  s(0.9, 'text-in-number', 'angle_before_deg', '5O', 'the letter O where a zero belongs'),
];
const DUPLICATE_AT = 0.3;
const CONFLICT_AT = 0.72;

function s(
  at: number,
  kind: BadKind,
  column: keyof FootRow,
  value: Spoiling['value'],
  reason: string,
): Spoiling {
  return { at, kind, column, value, reason };
}

/** Records of the CSV in file order, a few spoilt or added; and the rows that remain sound. */
export function spoil(rows: readonly FootRow[]): { records: CsvRecord[]; sound: FootRow[] } {
  const records: CsvRecord[] = rows.map((row) => ({ cells: textCells(row, VISIT_COLUMNS), bad: null }));
  const names = Object.keys(VISIT_COLUMNS) as (keyof FootRow)[];
  const pick = (at: number, needed: (row: FootRow) => boolean): number => {
    let i = Math.floor(at * rows.length);
    while (records[i]!.bad !== null || !needed(rows[i]!)) i++;
    return i;
  };
  const complete = (row: FootRow) => row.toe_before_mm !== null && row.toe_after_mm !== null;

  for (const { at, kind, column, value, reason } of SPOILT) {
    const i = pick(at, (row) => complete(row) && row[column] !== null);
    const text = typeof value === 'string' ? value : value(rows[i]!);
    const cells = records[i]!.cells;
    records[i]!.bad = mark(cells, kind, column, text, reason);
    cells[names.indexOf(column)] = text;
  }

  const added: { after: number; record: CsvRecord }[] = [];
  const twin = pick(DUPLICATE_AT, complete);
  const twinCells = [...records[twin]!.cells];
  const again = 'the row before it, word for word';
  added.push({
    after: twin,
    record: { cells: twinCells, bad: mark(twinCells, 'duplicate', null, '', again) },
  });

  const clash = pick(CONFLICT_AT, complete);
  const clashCells = [...records[clash]!.cells];
  const differs = 'two rows for one foot on one day, 9 mm apart: neither can be preferred';
  const longer = String(rows[clash]!.toe_before_mm! + 9);
  records[clash]!.bad = mark(
    records[clash]!.cells,
    'conflicting',
    'toe_before_mm',
    String(rows[clash]!.toe_before_mm),
    differs,
  );
  clashCells[names.indexOf('toe_before_mm')] = longer;
  added.push({
    after: clash,
    record: { cells: clashCells, bad: mark(clashCells, 'conflicting', 'toe_before_mm', longer, differs) },
  });

  const sound = rows.filter((_, i) => records[i]!.bad === null);
  for (const { after, record } of added.sort((a, b) => b.after - a.after)) {
    records.splice(after + 1, 0, record);
  }
  return { records, sound };
}

function mark(
  cells: readonly string[],
  kind: BadKind,
  column: keyof FootRow | null,
  value: string,
  reason: string,
): BadRow {
  const names = Object.keys(VISIT_COLUMNS);
  const cell = (name: string) => cells[names.indexOf(name)]!;
  return {
    line: 0,
    kind,
    column,
    value,
    reason,
    horseId: cell('horse_id'),
    visitDate: cell('visit_date'),
    foot: cell('foot'),
  };
}
