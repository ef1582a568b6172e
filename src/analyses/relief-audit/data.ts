import { numbers, type Table, texts } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { allOf, type Coded, code, type Grouping, groupSql, isKnown } from '../groups.ts';
import { CHOICES, type Done, PLACES, type Place, type ReliefOptions } from './options.ts';

/** Trim cycles that began with separated wall, relieved or only bevelled: arrays of length n, NaN where not known. */
export interface ReliefRows {
  readonly days: Float64Array;
  readonly relieved: Uint8Array;
  /** Code of the place, −1 where the distance was not recorded. */
  readonly place: Coded;
  /** mm at the trim and at the next visit. */
  readonly height: Float64Array;
  readonly heightNext: Float64Array;
  /** 0/1 at the next visit. */
  readonly cleared: Float64Array;
  readonly broken: Float64Array;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly groups: ReadonlyMap<Grouping, Coded>;
}

/** SQL of the place of a separation. */
export function placeSql({ near_mm }: ReliefOptions): string {
  const [at, near, clear] = PLACES.map((place) => literal(place));
  return `(CASE WHEN separation_site = 'white_line' THEN ${at} WHEN separation_to_white_line_mm < ${near_mm} THEN ${near} WHEN separation_to_white_line_mm >= ${near_mm} THEN ${clear} END)`;
}

export const isPlace = (options: ReliefOptions, place: Place): string =>
  `${placeSql(options)} = ${literal(place)}`;
export const isDone = (done: Done): string => `relief = ${literal(done)}`;

/** Separated wall of the site asked for, dealt with in one of the two ways: a condition over visits or cycles. */
function handledWhere({ site }: ReliefOptions): string {
  return allOf(
    site === 'any'
      ? "separation_site IN ('within_wall', 'white_line')"
      : `separation_site = ${literal(site)}`,
    `relief IN (${CHOICES.map((done) => literal(done)).join(', ')})`,
  );
}

/** Unflagged cycles that began with it. */
export function cyclesWhere(options: ReliefOptions): string {
  return allOf('flag IS NULL', 'separation_start', handledWhere(options));
}

/** Those of which place and groupings are known. */
export function alikeWhere(options: ReliefOptions): string {
  return allOf(
    cyclesWhere(options),
    `${placeSql(options)} IS NOT NULL`,
    ...options.adjust.map((grouping) => isKnown(grouping)),
  );
}

const groupColumns = (adjust: readonly Grouping[]): string =>
  adjust.map((grouping) => `, ${groupSql(grouping)}::VARCHAR AS ${quoteName(`by ${grouping}`)}`).join('');

/**
 * A separation that cleared by the next visit has height 0 there. Where it is still there, or was not graded, only a
 * height that was read counts.
 */
export function cyclesSql(options: ReliefOptions): string {
  return `
    SELECT horse_id, foot_key, days, (${isDone('relieved')})::INTEGER AS relieved, ${placeSql(options)} AS place,
      separation_height_mm AS height,
      CASE WHEN NOT separation_end THEN 0 ELSE separation_height_next_mm END::DOUBLE AS height_next,
      (NOT separation_end)::INTEGER AS cleared, wall_broken_next::INTEGER AS broken${groupColumns(options.adjust)}
    FROM trim_cycle WHERE ${cyclesWhere(options)}
    ORDER BY horse_id, foot_key, visit_date`;
}

/** SQL conditions of the rows that each outcome is known of. */
export const KNOWN = {
  height: `separation_height_mm IS NOT NULL AND (NOT separation_end OR separation_height_next_mm IS NOT NULL)`,
  still: 'separation_height_mm IS NOT NULL AND separation_end AND separation_height_next_mm IS NOT NULL',
  cleared: 'separation_end IS NOT NULL',
  broken: 'wall_broken_next IS NOT NULL',
} as const;

export function gatherCycles(table: Table): ReliefRows {
  return {
    days: numbers(table, 'days'),
    relieved: Uint8Array.from(numbers(table, 'relieved')),
    place: placesOf(table),
    height: numbers(table, 'height'),
    heightNext: numbers(table, 'height_next'),
    cleared: numbers(table, 'cleared'),
    broken: numbers(table, 'broken'),
    horse: code(texts(table, 'horse_id')).codes,
    foot: code(texts(table, 'foot_key')).codes,
    groups: groupsOf(table),
  };
}

/** Clear spells that followed handled separation; `relieved` is of the last trim with it. Times in days. */
export interface ReturnRows {
  readonly left: Float64Array;
  readonly right: Float64Array;
  readonly looks: Float64Array;
  readonly relieved: Uint8Array;
  readonly place: Coded;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly groups: ReadonlyMap<Grouping, Coded>;
}

/** One row a foot and day, as handled. */
const handled = (options: ReliefOptions): string =>
  `(SELECT * FROM foot_visit WHERE ${handledWhere(options)} QUALIFY row_number() OVER (PARTITION BY foot_key, visit_date ORDER BY source_file, source_line) = 1)`;

/** Clear spells after handled separation; `extra` narrows the visit at which it was handled. */
export function spellsWhere(options: ReliefOptions, extra: string | null = null): string {
  return allOf(
    "problem = 'separation'",
    'NOT present',
    'next_seen IS NULL OR next_seen > first_seen',
    `(foot_key, previous_seen) IN (SELECT (foot_key, visit_date) FROM ${handled(options)} WHERE ${allOf(extra)})`,
  );
}

/** The same with place and groupings known. */
export const alikeVisit = (options: ReliefOptions): string =>
  allOf(`${placeSql(options)} IS NOT NULL`, ...options.adjust.map((grouping) => isKnown(grouping)));

export function spellsSql(options: ReliefOptions): string {
  const visit = `SELECT foot_key, visit_date, (${isDone('relieved')})::INTEGER AS relieved, ${placeSql(options)} AS place${groupColumns(options.adjust)} FROM ${handled(options)}`;
  return `
    SELECT s.horse_id, s.foot_key, (s.last_seen - s.first_seen)::DOUBLE AS left_days,
      (s.next_seen - s.first_seen)::DOUBLE AS right_days,
      (s.visits - 1 + (s.next_seen IS NOT NULL)::INTEGER)::DOUBLE AS looks,
      v.* EXCLUDE (foot_key, visit_date)
    FROM (SELECT * FROM spell WHERE ${spellsWhere(options)}) s
    JOIN (${visit}) v ON v.foot_key = s.foot_key AND v.visit_date = s.previous_seen
    ORDER BY s.horse_id, s.foot_key, s.spell_number`;
}

export function gatherSpells(table: Table): ReturnRows {
  return {
    left: numbers(table, 'left_days'),
    right: numbers(table, 'right_days').map((days) => (Number.isNaN(days) ? Number.POSITIVE_INFINITY : days)),
    looks: numbers(table, 'looks'),
    relieved: Uint8Array.from(numbers(table, 'relieved')),
    place: placesOf(table),
    horse: code(texts(table, 'horse_id')).codes,
    foot: code(texts(table, 'foot_key')).codes,
    groups: groupsOf(table),
  };
}

function placesOf(table: Table): Coded {
  return {
    levels: PLACES,
    codes: Int32Array.from(texts(table, 'place'), (place) => PLACES.indexOf(place as Place)),
  };
}

function groupsOf(table: Table): Map<Grouping, Coded> {
  return new Map(
    Object.keys(table.columns)
      .filter((name) => name.startsWith('by '))
      .map((name) => [name.slice(3), code(texts(table, name))]),
  );
}

/** Rows of which place and every grouping are known. */
export function isAlike({ place, groups }: Pick<ReliefRows, 'place' | 'groups'>, row: number): boolean {
  return place.codes[row]! >= 0 && [...groups.values()].every(({ codes }) => codes[row]! >= 0);
}
