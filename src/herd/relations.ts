import { YEAR_DAYS } from '../core/civil-day.ts';
import { horseVisitsSql, PASSED_OVER } from './passed-over.ts';
import { PROBLEMS } from './problems.ts';
import { FEET } from './vocabularies.ts';

/**
 * The two relations every analysis reads, as SQL over the admitted rows.
 * Inputs: `visit_row` and `horse_row` (columns of the data dictionary, all present; visits with `row_key`, their name,
 * and `row_no`, their number) and `breed_map` (`breed` as written, `breed_type`).
 */
export interface RelationOptions {
  /** Seasons are the meteorological ones: MAM, JJA, SON, DJF in the north, swapped in the south. */
  readonly hemisphere: 'north' | 'south';
  /** Columns that the user has added. */
  readonly derived?: DerivedSteps;
}

export interface DerivedStep {
  readonly name: string;
  /** One SQL expression, checked. */
  readonly expression: string;
  readonly type: 'DOUBLE' | 'VARCHAR' | 'DATE' | 'BOOLEAN';
}

/** In order: a column may use those before it, and one of a cycle those of the visit that it begins with. */
export type DerivedSteps = Readonly<Record<'foot_visit' | 'trim_cycle', readonly DerivedStep[]>>;

/** Where the herd's own tables stand; pages keep theirs in databases beside it. */
export const HERD = 'memory.main';

/** Cycles outside these limits are flagged: not a routine trim-to-trim interval (common practice 4–10 weeks). */
export const SHORTEST_CYCLE_DAYS = 7;
export const LONGEST_CYCLE_DAYS = 365;
/** A foot cannot grow backwards; two readings of about 2 mm error each can differ by this much (common practice). */
export const NEGATIVE_REGROWTH_MM = -5;

const HORSE_COLUMNS = ['horse_name', 'client_id', 'breed', 'birth_year', 'sex', 'body_mass_kg'] as const;

const season = (day: string, { hemisphere }: RelationOptions): string => {
  const names =
    hemisphere === 'north'
      ? ['winter', 'spring', 'summer', 'autumn']
      : ['summer', 'autumn', 'winter', 'spring'];
  // December counts with the January that follows it.
  return `CASE (month(${day}) % 12) // 3 WHEN 0 THEN '${names[0]}' WHEN 1 THEN '${names[1]}' WHEN 2 THEN '${names[2]}' ELSE '${names[3]}' END`;
};

export function footVisitSql(options: RelationOptions): string {
  return `CREATE OR REPLACE TABLE ${HERD}.foot_visit_all AS ${footVisitSelect(options, 'TRUE')}`;
}

/** `where` narrows `visit_row v`. Not sorted: every reader asks for its own order, and sorting whole rows costs most. */
function footVisitSelect(options: RelationOptions, where: string): string {
  return withSteps(plainVisits(options, where), options.derived?.foot_visit ?? []);
}

function plainVisits(options: RelationOptions, where: string): string {
  const fromHorse = HORSE_COLUMNS.map((name) => `coalesce(v.${name}, h.${name}) AS ${name}`).join(', ');
  return `
SELECT v.* EXCLUDE (${HORSE_COLUMNS.join(', ')}, breed_type),
  ${fromHorse},
  coalesce(v.breed_type, h.breed_type, b.breed_type) AS breed_type,
  year(v.visit_date) - coalesce(v.birth_year, h.birth_year) AS age_years,
  CASE WHEN v.foot IN ('LF', 'RF') THEN 'fore' ELSE 'hind' END AS foot_end,
  CASE WHEN v.foot IN ('LF', 'LH') THEN 'left' ELSE 'right' END AS foot_side,
  v.horse_id || ' ' || v.foot AS foot_key,
  ${season('v.visit_date', options)} AS season
FROM ${HERD}.visit_row v
LEFT JOIN ${HERD}.horse_row h ON h.horse_id = v.horse_id
LEFT JOIN ${HERD}.breed_map b ON b.breed = coalesce(v.breed, h.breed)
WHERE ${where}`;
}

/** Feet in the order of the vocabulary, not of the alphabet. */
export function footOrder(column: string): string {
  return `CASE ${column} ${FEET.map((foot, k) => `WHEN '${foot}' THEN ${k}`).join(' ')} END`;
}

/** Turns of the year in radians a day. */
const OMEGA = `(2 * pi() / ${YEAR_DAYS})`;

/**
 * One row a foot a cycle, from one trim to the next visit. The ground and moisture of a cycle are those
 * recorded at its end ("since the last visit"). `season_cos` and `season_sin` are the means of the annual
 * cosine and sine over the cycle (day 0 = 1 January 1970), not their values at its middle.
 * `gross_growth_mm` is how far a mark moved down from the hairline, where the same mark was read at both ends.
 * `flag` says why a cycle is not a routine one; it is kept.
 */
export function trimCycleSql(options: RelationOptions): string {
  return `CREATE OR REPLACE TABLE ${HERD}.trim_cycle_all AS ${trimCycleSelect(options, 'TRUE')}`;
}

function trimCycleSelect(options: RelationOptions, where: string): string {
  return withSteps(plainCycles(options, where), options.derived?.trim_cycle ?? []);
}

function plainCycles(options: RelationOptions, where: string): string {
  const derived = (options.derived?.foot_visit ?? []).map(({ name }) => `, "${name}"`).join('');
  const next = (column: string): string => `lead(${column}) OVER foot_in_time`;
  const states = PROBLEMS.map(
    ({ key, column }) => `${column} >= 1 AS ${key}_start, ${next(column)} >= 1 AS ${key}_end`,
  ).join(',\n    ');
  return `
WITH ${horseVisitsSql(`${HERD}.foot_visit_all`, where)}, visits AS (
  SELECT *,
    ${next('visit_date')} AS next_date,
    ${next('horse_visit')} - horse_visit > 1 AND usually_all_feet AS passed_over,
    row_number() OVER foot_in_time AS cycle_number,
    coalesce(${next('terrain')}, terrain) AS cycle_terrain,
    coalesce(${next('moisture')}, moisture) AS cycle_moisture,
    ${next('toe_before_mm')} AS toe_before_next_mm,
    ${next('heel_before_mm')} AS heel_before_next_mm,
    ${next('angle_before_deg')} AS angle_before_next_deg,
    ${next('separation_height_mm')} AS separation_height_next_mm,
    ${next('wall_broken')} AS wall_broken_next,
    CASE WHEN ${next('marker_id')} = marker_id THEN ${next('marker_mm')} - marker_mm END AS gross_growth_mm,
    ${next('sensitivity')} AS sensitivity_next,
    ${next('source_file')} AS next_source_file,
    ${next('source_line')} AS next_source_line,
    ${states}
  FROM ${HERD}.foot_visit_all JOIN horse_visits USING (horse_id, visit_date)
  WHERE ${where}
  WINDOW foot_in_time AS (PARTITION BY horse_id, foot ORDER BY visit_date, source_file, source_line)
), cycles AS (
  SELECT * REPLACE (cycle_terrain AS terrain, cycle_moisture AS moisture),
    (next_date - visit_date)::DOUBLE AS days,
    toe_before_next_mm - toe_after_mm AS toe_regrowth_mm,
    heel_before_next_mm - heel_after_mm AS heel_regrowth_mm,
    angle_before_next_deg - angle_after_deg AS angle_drift_deg,
    (visit_date - DATE '1970-01-01')::DOUBLE AS day_start,
    (next_date - DATE '1970-01-01')::DOUBLE AS day_end,
    visit_date + ((next_date - visit_date) // 2)::INTEGER AS middle_date
  FROM visits
  WHERE next_date IS NOT NULL
)
SELECT foot_key, horse_id, horse_name, client_id, practitioner_id, foot, foot_end, foot_side,
  breed, breed_type, birth_year, age_years, sex, body_mass_kg, terrain, moisture,
  cycle_number, visit_date, next_date, days,
  CASE WHEN days < 5 * 7 THEN 'under 5 weeks' WHEN days < 6 * 7 THEN '5 weeks' WHEN days < 7 * 7 THEN '6 weeks'
       WHEN days < 8 * 7 THEN '7 weeks' WHEN days < 9 * 7 THEN '8 weeks' WHEN days < 10 * 7 THEN '9 weeks'
       ELSE '10 weeks and over' END AS interval_band,
  ${season('middle_date', options)} AS season,
  CASE WHEN days > 0 THEN (sin(${OMEGA} * day_end) - sin(${OMEGA} * day_start)) / (${OMEGA} * days) END AS season_cos,
  CASE WHEN days > 0 THEN (cos(${OMEGA} * day_start) - cos(${OMEGA} * day_end)) / (${OMEGA} * days) END AS season_sin,
  toe_before_mm, toe_after_mm, toe_before_next_mm, toe_regrowth_mm, gross_growth_mm,
  heel_after_mm, heel_before_next_mm, heel_regrowth_mm,
  angle_after_deg, angle_before_next_deg, angle_drift_deg, new_growth_angle_deg,
  sole_depth_mm, wall_thickness_mm, bar_height_mm, bevel_mm, relief, protection, antifungal,
  separation_site, separation_to_white_line_mm, separation_height_mm, separation_height_next_mm,
  wall_broken, wall_broken_next,
  crack_origin, coronet_injury, sensitivity, sensitivity_next,
  ${PROBLEMS.map(({ key }) => `${key}_start, ${key}_end`).join(', ')},
  CASE WHEN days = 0 THEN 'same day twice'
       WHEN days < ${SHORTEST_CYCLE_DAYS} THEN 'under ${SHORTEST_CYCLE_DAYS} days'
       WHEN days > ${LONGEST_CYCLE_DAYS} THEN 'over ${LONGEST_CYCLE_DAYS} days'
       WHEN toe_regrowth_mm < ${NEGATIVE_REGROWTH_MM} THEN 'toe shorter than after the trim'
       WHEN passed_over THEN '${PASSED_OVER}'
  END AS flag,
  source_file, source_line, next_source_file, next_source_line, row_key, row_no${derived}
FROM cycles`;
}

/**
 * Builds both relations anew for some horses only: nothing in them reaches from one horse to another. `horses` is a
 * list of SQL literals.
 */
export function rebuildSql(horses: string, options: RelationOptions): string[] {
  return [
    `DELETE FROM ${HERD}.foot_visit_all WHERE horse_id IN (${horses})`,
    `INSERT INTO ${HERD}.foot_visit_all BY NAME ${footVisitSelect(options, `v.horse_id IN (${horses})`)}`,
    `DELETE FROM ${HERD}.trim_cycle_all WHERE horse_id IN (${horses})`,
    `INSERT INTO ${HERD}.trim_cycle_all BY NAME ${trimCycleSelect(options, `horse_id IN (${horses})`)}`,
  ];
}

/**
 * Runs of visits at which a problem was present, or clear, one foot at a time, for every problem, over the cohort's
 * visits; a visit at which it was not graded says nothing and is passed over. Each boundary lies between two visits:
 * a run began after `previous_seen` and by `first_seen`, and ended after `last_seen` and by `next_seen` (missing where
 * no visit bounds it). Ground, moisture, season, age and derived columns are those at its first visit.
 */
export function spellSql(derived: readonly string[] = []): string {
  const more = derived.map((name) => `,\n        first("${name}" ORDER BY visit_date) AS "${name}"`).join('');
  const parts = PROBLEMS.map(
    ({ key, column }) => `
  SELECT '${key}' AS problem, * FROM (
    WITH seen AS (
      SELECT *, ${column} >= 1 AS present,
        (lag(${column} >= 1) OVER foot_in_time) IS DISTINCT FROM (${column} >= 1) AS turns
      FROM foot_visit WHERE ${column} IS NOT NULL
      WINDOW foot_in_time AS (PARTITION BY horse_id, foot ORDER BY visit_date, source_file, source_line)
    ), numbered AS (
      SELECT *, sum(turns::INTEGER) OVER (PARTITION BY horse_id, foot ORDER BY visit_date, source_file, source_line ROWS UNBOUNDED PRECEDING) AS spell_number
      FROM seen
    ), runs AS (
      SELECT foot_key, any_value(horse_id) AS horse_id, any_value(foot) AS foot, any_value(foot_end) AS foot_end,
        any_value(horse_name) AS horse_name, any_value(client_id) AS client_id, any_value(breed_type) AS breed_type,
        spell_number::INTEGER AS spell_number, any_value(present) AS present, count(*)::INTEGER AS visits,
        min(visit_date) AS first_seen, max(visit_date) AS last_seen,
        first(terrain ORDER BY visit_date) AS terrain, first(moisture ORDER BY visit_date) AS moisture,
        first(season ORDER BY visit_date) AS season, first(practitioner_id ORDER BY visit_date) AS practitioner_id,
        first(age_years ORDER BY visit_date) AS age_years${more}
      FROM numbered GROUP BY foot_key, spell_number
    )
    SELECT *,
      lag(last_seen) OVER (PARTITION BY foot_key ORDER BY spell_number) AS previous_seen,
      lead(first_seen) OVER (PARTITION BY foot_key ORDER BY spell_number) AS next_seen
    FROM runs)`,
  );
  return `CREATE OR REPLACE VIEW spell AS ${parts.join('\n  UNION ALL')}`;
}

/**
 * Puts derived columns in the place of those that were there (by name); the columns of a visit stand in the cycle that
 * begins with it as well.
 */
export function putDerivedSql(
  was: Readonly<Record<keyof DerivedSteps, readonly string[]>>,
  { foot_visit, trim_cycle }: DerivedSteps,
): string[] {
  const [visits, cycles] = [`${HERD}.foot_visit_all`, `${HERD}.trim_cycle_all`];
  const both = [...foot_visit, ...trim_cycle];
  const begun = `SELECT c.*${listed('v', foot_visit)} FROM (SELECT ${allBut(namesOf(both))} FROM ${cycles}) c
    LEFT JOIN ${visits} v ON v.row_no = c.row_no`;
  return [
    ...replaceColumns(visits, was.foot_visit, foot_visit),
    ...fillColumns(
      visits,
      foot_visit,
      withSteps(`SELECT ${allBut(namesOf(foot_visit))} FROM ${visits}`, foot_visit),
    ),
    ...replaceColumns(cycles, [...was.foot_visit, ...was.trim_cycle], both),
    ...fillColumns(cycles, both, withSteps(begun, trim_cycle)),
  ];
}

const namesOf = (steps: readonly DerivedStep[]): string[] => steps.map(({ name }) => name);
const listed = (of: string, steps: readonly DerivedStep[]): string =>
  steps.map(({ name }) => `, ${of}."${name}"`).join('');

function replaceColumns(table: string, was: readonly string[], steps: readonly DerivedStep[]): string[] {
  return [
    ...was.map((name) => `ALTER TABLE ${table} DROP COLUMN "${name}"`),
    ...steps.map(({ name, type }) => `ALTER TABLE ${table} ADD COLUMN "${name}" ${type}`),
  ];
}

/** Only the new columns are written: a copy of the whole table would take many times as long. */
function fillColumns(table: string, steps: readonly DerivedStep[], from: string): string[] {
  if (steps.length === 0) return [];
  const sets = steps.map(({ name }) => `"${name}" = d."${name}"`).join(', ');
  return [
    `UPDATE ${table} SET ${sets} FROM (SELECT row_no${listed('s', steps)} FROM (${from}) s) d
     WHERE d.row_no = ${table.split('.').at(-1)}.row_no`,
  ];
}

/** Every column but these. */
export function allBut(names: readonly string[]): string {
  return names.length === 0 ? '*' : `* EXCLUDE (${names.map((name) => `"${name}"`).join(', ')})`;
}

/** A SELECT with derived columns added to it, one around the other. */
export function withSteps(from: string, steps: readonly DerivedStep[]): string {
  return steps.reduce((inner, { name, expression, type }) => {
    const column = `"${name}"`;
    const step = `SELECT *, ((${expression}\n))::${type} AS ${column} FROM (${inner})`;
    // A division by zero is no number.
    return type === 'DOUBLE'
      ? `SELECT * REPLACE (CASE WHEN isfinite(${column}) THEN ${column} END AS ${column}) FROM (${step})`
      : step;
  }, from);
}

/**
 * The cohort: what every entry of a page looks at. `where` is an SQL condition over columns both relations have,
 * `derived` names the derived columns of a visit.
 */
export function cohortSql(where: string, derived: readonly string[] = []): string[] {
  const views = ['foot_visit', 'trim_cycle'].map(
    (name) =>
      `CREATE OR REPLACE VIEW ${name} AS SELECT * EXCLUDE (row_no) FROM ${HERD}.${name}_all WHERE ${where}`,
  );
  return [...views, spellSql(derived)];
}
