import { type CivilDay, isoFromDay } from '../../core/civil-day.ts';
import { texts } from '../../core/table.ts';
import type { Engine } from '../../engine/engine.ts';
import { literal } from '../../engine/sql-text.ts';
import { allOf } from '../groups.ts';

/** The level of a foot or cycle without a breed type, or without a ground: it counts, on a level of its own. */
export const NOT_RECORDED = 'not recorded';

/** What decides a foot's mean growth ahead. */
export interface FootAhead {
  readonly horseId: string;
  readonly breedType: string;
  /** Ground of its latest visit at which one was recorded. */
  readonly terrain: string;
}

/** Name under which the ground of the cycle before stands among the groups of the rows. */
export const GROUND_BEFORE = 'ground before';

/** Unflagged cycles with the toe measured at both ends, ended by a day; the columns of a growth fit. */
export function forecastSql(asOf: CivilDay | undefined): { sql: string; where: string } {
  const where = allOf(
    'toe_regrowth_mm IS NOT NULL',
    'flag IS NULL',
    asOf === undefined ? null : `next_date <= DATE ${literal(isoFromDay(asOf))}`,
  );
  return {
    where,
    sql: `
      SELECT horse_id, horse_name, foot_key, days, season_cos, season_sin, toe_regrowth_mm::DOUBLE AS amount,
        coalesce(breed_type, ${literal(NOT_RECORDED)})::VARCHAR AS "by breed_type",
        coalesce(terrain, ${literal(NOT_RECORDED)})::VARCHAR AS "by terrain", ground_before::VARCHAR AS "by ${GROUND_BEFORE}"
      FROM (
        SELECT *, lag(terrain) OVER (PARTITION BY foot_key ORDER BY visit_date) AS ground_before FROM trim_cycle
      ) WHERE ${where}
      ORDER BY horse_id, foot_key, visit_date`,
  };
}

/** Every foot of the cohort. As of a day: on the ground of its latest visit by then, else of its first. */
export async function feetAhead(
  engine: Engine,
  signal: AbortSignal,
  asOf: CivilDay | undefined,
): Promise<ReadonlyMap<string, FootAhead>> {
  const known = asOf === undefined ? 'TRUE' : `visit_date <= DATE ${literal(isoFromDay(asOf))}`;
  const table = await engine.query(
    `SELECT foot_key, any_value(horse_id)::VARCHAR AS horse_id,
       coalesce(any_value(breed_type), ${literal(NOT_RECORDED)})::VARCHAR AS breed_type,
       coalesce(
         arg_max(terrain, visit_date) FILTER (WHERE terrain IS NOT NULL AND ${known}),
         arg_min(terrain, visit_date) FILTER (WHERE terrain IS NOT NULL),
         ${literal(NOT_RECORDED)})::VARCHAR AS terrain
     FROM foot_visit GROUP BY foot_key ORDER BY foot_key`,
    signal,
  );
  const [horse, breed, terrain] = [
    texts(table, 'horse_id'),
    texts(table, 'breed_type'),
    texts(table, 'terrain'),
  ];
  return new Map(
    texts(table, 'foot_key').map((key, row) => [
      key!,
      { horseId: horse[row]!, breedType: breed[row]!, terrain: terrain[row]! },
    ]),
  );
}
