import { literal } from '../../engine/sql-text.ts';
import { allOf, type Coded, type Grouping, isKnown } from '../groups.ts';
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
export function handledWhere({ site }: ReliefOptions): string {
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

/** SQL conditions of the rows that each outcome is known of. */
export const KNOWN = {
  height: `separation_height_mm IS NOT NULL AND (NOT separation_end OR separation_height_next_mm IS NOT NULL)`,
  still: 'separation_height_mm IS NOT NULL AND separation_end AND separation_height_next_mm IS NOT NULL',
  cleared: 'separation_end IS NOT NULL',
  broken: 'wall_broken_next IS NOT NULL',
} as const;

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

/** Rows of which place and every grouping are known. */
export function isAlike({ place, groups }: Pick<ReliefRows, 'place' | 'groups'>, row: number): boolean {
  return place.codes[row]! >= 0 && [...groups.values()].every(({ codes }) => codes[row]! >= 0);
}
