import { isoFromDay } from '../../core/civil-day.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { PROBLEMS } from '../../herd/problems.ts';
import { NO_MARK } from '../cycle-columns.ts';
import { inOrder } from '../foot-order.ts';
import { allOf, type Coded, groupSql, seenLevels } from '../groups.ts';
import { type CohortVisits, horseOf } from '../visit-rows.ts';
import type { TrendOptions } from './options.ts';

/** Looks at a foot further apart than this say too little of when a case began. */
export const LONGEST_GAP = 365;

/** Neighbouring graded visits of a foot, a year apart at most: arrays of length n, in order of horse and foot. */
export interface Looks {
  readonly from: Float64Array;
  readonly to: Float64Array;
  /** 1 where the foot was a case at the earlier, at the later. */
  readonly before: Uint8Array;
  readonly after: Uint8Array;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly horses: number;
  /** Level at the later visit, −1 where it is not recorded; one level without a grouping. */
  readonly levels: readonly string[];
  readonly level: Int32Array;
  /** Pairs left out for being over a year apart. */
  readonly tooLong: number;
}

/** A row of foot_visit, of a visit given twice either by itself; added rows have no place in a file. */
const ROW = "(foot_key, visit_date, coalesce(source_file, ''), coalesce(source_line, 0))";

export const gradeColumn = ({ problem }: TrendOptions): string =>
  quoteName(PROBLEMS.find(({ key }) => key === problem)!.column);

const levelSql = ({ by }: TrendOptions): string => (by === 'none' ? "'all'" : `${groupSql(by)}::VARCHAR`);

/** Graded visits, each with the graded visit of the foot before it. */
const SEEN = (options: TrendOptions): string => `
  SELECT horse_id, foot_key, visit_date, source_file, source_line, ${levelSql(options)} AS level,
    ${gradeColumn(options)} >= ${options.grade} AS present,
    lag(visit_date) OVER foot_in_time AS previous_date,
    lag(${gradeColumn(options)} >= ${options.grade}) OVER foot_in_time AS previous_present
  FROM foot_visit WHERE ${gradeColumn(options)} IS NOT NULL
  WINDOW foot_in_time AS (PARTITION BY foot_key ORDER BY visit_date, source_file, source_line)`;

const USABLE = `previous_date < visit_date AND visit_date - previous_date <= ${LONGEST_GAP}`;

/** Graded visits of the cohort, each with the graded visit of the foot before it. */
export function looksAmong(visits: CohortVisits, grades: Int8Array, of: Coded | null, grade: number): Looks {
  const { day, foot } = visits;
  const { before, after, tooLong } = pairsOf(visits, grades);
  const isCase = (rows: Uint32Array): Uint8Array => {
    const found = new Uint8Array(rows.length);
    for (let i = 0; i < rows.length; i++) found[i] = grades[rows[i]!]! >= grade ? 1 : 0;
    return found;
  };
  const feet = inOrder(foot, after);
  const horse = numbered(feet.map(horseOf));
  const level = of
    ? seenLevels({ levels: of.levels, codes: inOrder(of.codes, after) })
    : { levels: after.length > 0 ? ['all'] : [], codes: new Int32Array(after.length) };
  return {
    from: new Float64Array(inOrder(day, before)),
    to: new Float64Array(inOrder(day, after)),
    before: isCase(before),
    after: isCase(after),
    horse: horse.codes,
    horses: horse.count,
    foot: numbered(feet).codes,
    levels: level.levels,
    level: level.codes,
    tooLong,
  };
}

/** Rows of neighbouring graded visits on different days, a year apart at most. */
function pairsOf(
  { places, foot, day }: CohortVisits,
  grades: Int8Array,
): { readonly before: Uint32Array; readonly after: Uint32Array; readonly tooLong: number } {
  const before = new Uint32Array(places.length);
  const after = new Uint32Array(places.length);
  let [n, tooLong, last] = [0, 0, -1];
  for (let i = 0; i < places.length; i++) {
    const row = places[i]!;
    if (grades[row] === NO_MARK) continue;
    const gap = last >= 0 && foot[last] === foot[row] ? day[row]! - day[last]! : 0;
    if (gap > LONGEST_GAP) tooLong += 1;
    else if (gap > 0) {
      before[n] = last;
      after[n++] = row;
    }
    last = row;
  }
  return { before: before.subarray(0, n), after: after.subarray(0, n), tooLong };
}

/** Ascending numbers as 0, 1, 2 and so on. */
function numbered(ascending: Int32Array): { readonly codes: Int32Array; readonly count: number } {
  const codes = new Int32Array(ascending.length);
  let count = 0;
  for (let i = 0; i < codes.length; i++) {
    if (i === 0 || ascending[i] !== ascending[i - 1]) count += 1;
    codes[i] = count - 1;
  }
  return { codes, count };
}

/**
 * The condition of the later visits of pairs that reach into the days from `first` up to, but not with, `end`; of one
 * level where named.
 */
export function looksWhere(options: TrendOptions, first: number, end: number, level?: string): string {
  const day = (at: number): string => `DATE ${literal(isoFromDay(at))}`;
  const inside = `visit_date >= ${day(first)} AND previous_date < ${day(end)}`;
  const of = level === undefined || options.by === 'none' ? '' : ` AND level = ${literal(level)}`;
  return allOf(
    `${gradeColumn(options)} IS NOT NULL`,
    `${ROW} IN (SELECT ${ROW} FROM (${SEEN(options)}) WHERE ${USABLE} AND ${inside}${of})`,
  );
}
