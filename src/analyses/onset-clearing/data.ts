import { numbers, type Table, texts } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import type { Counts } from '../format.ts';
import { allOf, type Coded, code, countOf, type Grouping, groupSql, isKnown } from '../groups.ts';
import type { OnsetOptions } from './options.ts';

/** Unflagged cycles with the problem graded at both ends: arrays of length n. */
export interface PairRows {
  readonly years: Float64Array;
  /** 0 clear, 1 present, after the trim and at the next visit. */
  readonly start: Uint8Array;
  readonly end: Uint8Array;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  /** Levels of every grouping compared or held alike; −1 where it is not known. */
  readonly groups: ReadonlyMap<Grouping, Coded>;
}

/** Groupings of the adjusted comparison. */
export function heldAlike({ by, adjust }: OnsetOptions): Grouping[] {
  return [...new Set([...(by === 'none' ? [] : [by]), ...adjust])];
}

/** The condition of the rows of the crude figures: graded at both ends, and the grouping compared known. */
export function crudeWhere({ problem, by }: OnsetOptions): string {
  return allOf(
    'flag IS NULL',
    `${quoteName(`${problem}_start`)} IS NOT NULL`,
    `${quoteName(`${problem}_end`)} IS NOT NULL`,
    by === 'none' ? null : isKnown(by),
  );
}

/** And of those of the adjusted ones: everything held alike known as well. */
export function adjustedWhere(options: OnsetOptions): string {
  return allOf(crudeWhere(options), ...heldAlike(options).map(isKnown));
}

export function onsetSql(options: OnsetOptions): string {
  const { problem } = options;
  return `
    SELECT horse_id, foot_key, days,
      ${quoteName(`${problem}_start`)}::INTEGER AS present_start, ${quoteName(`${problem}_end`)}::INTEGER AS present_end
      ${heldAlike(options)
        .map((grouping) => `, ${groupSql(grouping)}::VARCHAR AS ${quoteName(`by ${grouping}`)}`)
        .join('')}
    FROM trim_cycle WHERE ${crudeWhere(options)}
    ORDER BY horse_id, foot_key, visit_date`;
}

export function gatherPairs(table: Table, options: OnsetOptions): PairRows {
  return {
    years: numbers(table, 'days').map((days) => days / 365.25),
    start: Uint8Array.from(numbers(table, 'present_start')),
    end: Uint8Array.from(numbers(table, 'present_end')),
    horse: code(texts(table, 'horse_id')).codes,
    foot: code(texts(table, 'foot_key')).codes,
    groups: new Map(heldAlike(options).map((grouping) => [grouping, code(texts(table, `by ${grouping}`))])),
  };
}

/** What some rows hold: how often each change was seen, and foot-years begun in each state. */
export interface Seen extends Counts {
  readonly onsets: number;
  readonly clearings: number;
  readonly clearYears: number;
  readonly affectedYears: number;
}

export function seenIn(rows: PairRows, keep: readonly number[]): Seen {
  let [onsets, clearings, clearYears, affectedYears] = [0, 0, 0, 0];
  for (const row of keep) {
    if (rows.start[row] === 0) {
      clearYears += rows.years[row]!;
      onsets += rows.end[row]!;
    } else {
      affectedYears += rows.years[row]!;
      clearings += 1 - rows.end[row]!;
    }
  }
  return { ...countOf(rows.horse, rows.foot, keep), onsets, clearings, clearYears, affectedYears };
}
