import { YEAR_DAYS } from '../core/civil-day.ts';
import { CYCLE_TEXTS, cycleLevel, LONGEST_CYCLE_DAYS, SHORTEST_CYCLE_DAYS } from './cycle-levels.ts';
import { FOOT_KEY, footParts, type RelationOptions, ROW_KEY, season } from './foot-visit-sql.ts';
import { CYCLE_ROW, FOOT_ROW, HERD } from './herd-names.ts';
import { horseVisitsSql, PASSED_OVER } from './passed-over.ts';
import { PROBLEMS } from './problems.ts';

/** A foot cannot grow backwards; two readings of about 2 mm error each can differ by this much (common practice). */
export const NEGATIVE_REGROWTH_MM = -5;

/** Turns of the year in radians a day. */
const OMEGA = `(2 * pi() / ${YEAR_DAYS})`;

/** Read at the visit that ends a cycle; the rest of a cycle is as at its beginning. */
const AT_END = [
  'visit_date',
  'toe_before_mm',
  'heel_before_mm',
  'angle_before_deg',
  'separation_height_mm',
  'wall_broken',
  'marker_id',
  'marker_mm',
  'sensitivity',
  'terrain',
  'moisture',
  'source_file',
  'source_line',
] as const;

/**
 * One row a foot a cycle, from one trim to the next visit. The ground and moisture of a cycle are those
 * recorded at its end ("since the last visit"). `season_cos` and `season_sin` are the means of the annual
 * cosine and sine over the cycle (day 0 = 1 January 1970), not their values at its middle.
 * `gross_growth_mm` is how far a mark moved down from the hairline, where the same mark was read at both ends.
 * `flag` says why a cycle is not a routine one; it is kept. `foot_no` tells feet apart: the row of a foot's first visit.
 *
 * A herd too large to build at once is parted in `slices` of horses, each a condition on `horse_id`; the statements
 * `after` a slice, counted from 0, run once it stands, so that the engine may put it away.
 */
export function trimCycleSql(
  options: RelationOptions,
  slices: readonly string[] = ['TRUE'],
  after: (slice: number) => readonly string[] = () => [],
): string[] {
  const parts = slices.map((where, k) => {
    const into = k === 0 ? `CREATE OR REPLACE TABLE ${CYCLE_ROW} AS` : `INSERT INTO ${CYCLE_ROW} BY NAME`;
    return [...linked(where, [`${into} ${cycleSelect(options, where)}`]), ...after(k)];
  });
  return [...parts.flat(), cycleViewSql()];
}

/** Cycles of the horses for which `where`, a condition on `horse_id`, holds, built anew in place of those kept. */
export function rebuildCyclesSql(options: RelationOptions, where: string): string[] {
  return linked(where, [
    `DELETE FROM ${CYCLE_ROW} WHERE ${where}`,
    `INSERT INTO ${CYCLE_ROW} BY NAME ${cycleSelect(options, where)}`,
  ]);
}

/** `trim_cycle_all`: the kept cycles with the name of the row that each begins with. */
export function cycleViewSql(): string {
  return `CREATE OR REPLACE VIEW ${HERD}.trim_cycle_all AS
    SELECT * EXCLUDE (kept_key) REPLACE (${CYCLE_TEXTS}), ${ROW_KEY} AS row_key FROM ${CYCLE_ROW}`;
}

const LINK = `${HERD}.cycle_link`;

/**
 * The pairs of visits that cycles run between, found on numbers alone and kept while the statements run that join them
 * to what is needed of either visit. To carry whole rows through a window takes twice as long, and without a table the
 * engine cannot tell how few the pairs are.
 */
function linked(where: string, statements: readonly string[]): string[] {
  return [
    `CREATE OR REPLACE TABLE ${LINK} AS WITH ${horseVisitsSql(FOOT_ROW, where)}
SELECT row_no,
  lead(row_no) OVER foot_in_time AS next_no,
  first_value(row_no) OVER foot_in_time AS foot_no,
  (row_number() OVER foot_in_time)::INTEGER AS cycle_number,
  lead(horse_visit) OVER foot_in_time - horse_visit > 1 AND usually_all_feet AS passed_over
FROM ${FOOT_ROW} JOIN horse_visits USING (horse_id, visit_date)
WHERE ${where}
WINDOW foot_in_time AS (PARTITION BY horse_id, foot ORDER BY visit_date, row_no)`,
    ...statements,
    `DROP TABLE ${LINK}`,
  ];
}

const intervalBand = `CASE WHEN days < 5 * 7 THEN ${cycleLevel('interval_band', 'under 5 weeks')}
       ${([5, 6, 7, 8, 9] as const)
         .map((weeks) => `WHEN days < ${weeks + 1} * 7 THEN ${cycleLevel('interval_band', `${weeks} weeks`)}`)
         .join('\n       ')}
       ELSE ${cycleLevel('interval_band', '10 weeks and over')} END AS interval_band`;

const flag = `CASE WHEN days = 0 THEN ${cycleLevel('flag', 'same day twice')}
       WHEN days < ${SHORTEST_CYCLE_DAYS} THEN ${cycleLevel('flag', `under ${SHORTEST_CYCLE_DAYS} days`)}
       WHEN days > ${LONGEST_CYCLE_DAYS} THEN ${cycleLevel('flag', `over ${LONGEST_CYCLE_DAYS} days`)}
       WHEN toe_regrowth_mm < ${NEGATIVE_REGROWTH_MM} THEN ${cycleLevel('flag', 'toe shorter than after the trim')}
       WHEN passed_over THEN ${cycleLevel('flag', PASSED_OVER)} END AS flag`;

function cycleSelect(options: RelationOptions, where: string): string {
  const problems = PROBLEMS.map(({ column }) => column);
  const ends = [...new Set<string>([...AT_END, ...problems])];
  const states = PROBLEMS.map(
    ({ key, column }) => `s.${column} >= 1 AS ${key}_start, e.${column} >= 1 AS ${key}_end`,
  );
  return `
WITH cycles AS (
  SELECT s.*, l.foot_no, l.cycle_number, l.passed_over,
    e.visit_date AS next_date,
    coalesce(e.terrain, s.terrain) AS cycle_terrain,
    coalesce(e.moisture, s.moisture) AS cycle_moisture,
    e.toe_before_mm AS toe_before_next_mm,
    e.heel_before_mm AS heel_before_next_mm,
    e.angle_before_deg AS angle_before_next_deg,
    e.separation_height_mm AS separation_height_next_mm,
    e.wall_broken AS wall_broken_next,
    CASE WHEN e.marker_id = s.marker_id THEN e.marker_mm - s.marker_mm END AS gross_growth_mm,
    e.sensitivity AS sensitivity_next,
    e.source_file AS next_source_file,
    e.source_line AS next_source_line,
    (e.visit_date - s.visit_date)::DOUBLE AS days,
    e.toe_before_mm - s.toe_after_mm AS toe_regrowth_mm,
    (s.visit_date - DATE '1970-01-01')::DOUBLE AS day_start,
    (e.visit_date - DATE '1970-01-01')::DOUBLE AS day_end,
    s.visit_date + ((e.visit_date - s.visit_date) // 2)::INTEGER AS middle_date,
    ${states.join(',\n    ')}
  FROM (SELECT * FROM ${FOOT_ROW} WHERE ${where}) s
  JOIN (SELECT * FROM ${LINK} WHERE next_no IS NOT NULL) l ON l.row_no = s.row_no
  JOIN (SELECT row_no, ${ends.join(', ')} FROM ${FOOT_ROW} WHERE ${where}) e ON e.row_no = l.next_no
)
SELECT ${FOOT_KEY}, horse_id, horse_name, client_id, practitioner_id, foot,
  ${footParts(cycleLevel)},
  breed, breed_type, birth_year, year(visit_date) - birth_year AS age_years, sex, body_mass_kg,
  cycle_terrain AS terrain, cycle_moisture AS moisture,
  cycle_number, visit_date, next_date, days,
  ${intervalBand},
  ${season('middle_date', options, (name) => cycleLevel('season', name))} AS season,
  CASE WHEN days > 0 THEN (sin(${OMEGA} * day_end) - sin(${OMEGA} * day_start)) / (${OMEGA} * days) END AS season_cos,
  CASE WHEN days > 0 THEN (cos(${OMEGA} * day_start) - cos(${OMEGA} * day_end)) / (${OMEGA} * days) END AS season_sin,
  toe_before_mm, toe_after_mm, toe_before_next_mm, toe_regrowth_mm, gross_growth_mm,
  heel_after_mm, heel_before_next_mm, heel_before_next_mm - heel_after_mm AS heel_regrowth_mm,
  angle_after_deg, angle_before_next_deg, angle_before_next_deg - angle_after_deg AS angle_drift_deg,
  new_growth_angle_deg,
  sole_depth_mm, wall_thickness_mm, bar_height_mm, bevel_mm, relief, protection, antifungal,
  separation_site, separation_to_white_line_mm, separation_height_mm, separation_height_next_mm,
  wall_broken, wall_broken_next,
  crack_origin, coronet_injury, sensitivity, sensitivity_next,
  ${PROBLEMS.map(({ key }) => `${key}_start, ${key}_end`).join(', ')},
  ${flag},
  source_file, source_line, next_source_file, next_source_line, row_no, foot_no, kept_key
FROM cycles`;
}
