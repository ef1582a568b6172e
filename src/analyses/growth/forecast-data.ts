import { type CivilDay, isoFromDay } from '../../core/civil-day.ts';
import { numbers, type Table, texts } from '../../core/table.ts';
import type { Engine } from '../../engine/engine.ts';
import { literal } from '../../engine/sql-text.ts';
import { footOrder, inOrder } from '../foot-order.ts';
import { allOf, codeColumn, seenLevels } from '../groups.ts';
import { type GrowthRows, gatherGrowth } from './data.ts';

/** The level of a foot or cycle without a breed type, or without a ground: it counts, on a level of its own. */
const NOT_RECORDED = 'not recorded';

/** What decides a foot's mean growth ahead. */
export interface FootAhead {
  readonly horseId: string;
  readonly breedType: string;
  /** Ground of its latest visit at which one was recorded. */
  readonly terrain: string;
}

/** Name under which the ground of the cycle before stands among the groups of the rows. */
export const GROUND_BEFORE = 'ground before';

/** The cycles that the model is fitted to: unflagged, the toe measured at both ends, ended by a day. */
export const forecastWhere = (asOf?: CivilDay): string =>
  allOf(
    'toe_regrowth_mm IS NOT NULL',
    'flag IS NULL',
    asOf === undefined ? null : `next_date <= DATE ${literal(isoFromDay(asOf))}`,
  );

/**
 * Every cycle, and whether it may be fitted to: whatever day is asked for, these are the same. The others tell what ground a
 * foot was on before.
 */
export const CYCLES_SQL = `
  SELECT horse_id, horse_name, foot_key, cycle_number::DOUBLE AS cycle_number, days, season_cos, season_sin,
    toe_regrowth_mm::DOUBLE AS amount,
    coalesce(breed_type, ${literal(NOT_RECORDED)})::VARCHAR AS "by breed_type",
    terrain::VARCHAR AS terrain, next_date, coalesce(${forecastWhere()}, FALSE)::INTEGER AS is_used
  FROM trim_cycle`;

/** The rows that the model is fitted to, each with its ground, and with that of the cycle before. */
export function gatherForecast(table: Table, asOf: CivilDay | undefined): GrowthRows {
  const foot = codeColumn(table, 'foot_key');
  const order = footOrder(foot.codes, numbers(table, 'cycle_number'), foot.levels.length);
  const terrain = codeColumn(table, 'terrain');
  const until = asOf ?? Number.POSITIVE_INFINITY;
  const ended = numbers(table, 'next_date');
  const isUsed = numbers(table, 'is_used').map((may, row) => (may === 1 && ended[row]! <= until ? 1 : 0));
  const used = order.filter((row) => isUsed[row] === 1);
  const before = new Int32Array(used.length);
  for (let i = 0, k = 0; i < order.length; i++) {
    const [row, last] = [order[i]!, order[i - 1]];
    if (isUsed[row] !== 1) continue;
    before[k++] = last !== undefined && foot.codes[last] === foot.codes[row] ? terrain.codes[last]! : -1;
  }
  // A ground that was not recorded is a level of its own.
  const now = inOrder(terrain.codes, used);
  const levels = [...terrain.levels, NOT_RECORDED].sort();
  const place = Int32Array.from(terrain.levels, (level) => levels.indexOf(level));
  const none = levels.indexOf(NOT_RECORDED);
  return gatherGrowth(table, {
    order: used,
    groups: new Map([
      ['terrain', seenLevels({ levels, codes: now.map((of) => (of < 0 ? none : place[of]!)) })],
      [GROUND_BEFORE, seenLevels({ levels: terrain.levels, codes: before })],
    ]),
  });
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
