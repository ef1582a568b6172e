import { isoFromDay } from '../../core/civil-day.ts';
import { numbers, type Table } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { PROBLEMS } from '../../herd/problems.ts';
import { footOrder, inOrder } from '../foot-order.ts';
import { allOf, type Coded, codeColumn, groupSql, seenLevels } from '../groups.ts';
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

/** Pairs in any order, by horse, foot and day afterwards. */
export function gatherLooks(table: Table): Looks {
  const usable = numbers(table, 'usable');
  const from = numbers(table, 'previous_date');
  const to = numbers(table, 'visit_date');
  const allFeet = codeColumn(table, 'foot_key');
  let tooLong = 0;
  for (let row = 0; row < usable.length; row++) {
    if (usable[row] !== 1 && to[row]! - from[row]! > LONGEST_GAP) tooLong += 1;
  }
  const keep = footOrder(allFeet.codes, to, allFeet.levels.length).filter((row) => usable[row] === 1);
  const coded = (name: string): Coded => {
    const { levels, codes } = codeColumn(table, name);
    return seenLevels({ levels, codes: inOrder(codes, keep) });
  };
  const [horse, level] = [coded('horse_id'), coded('level')];
  return {
    from: inOrder(from, keep),
    to: inOrder(to, keep),
    before: Uint8Array.from(inOrder(numbers(table, 'present_before'), keep)),
    after: Uint8Array.from(inOrder(numbers(table, 'present_after'), keep)),
    horse: horse.codes,
    horses: horse.levels.length,
    foot: seenLevels({ levels: allFeet.levels, codes: inOrder(allFeet.codes, keep) }).codes,
    levels: level.levels,
    level: level.codes,
    tooLong,
  };
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
