import { PROBLEMS } from './problems.ts';

/** What a spell says of the visit that it begins with. */
const AT_FIRST = ['terrain', 'moisture', 'season', 'practitioner_id', 'age_years'] as const;

/**
 * Runs of visits at which a problem was present, or clear, one foot at a time, for every problem, over the cohort's
 * visits; a visit at which it was not graded says nothing and is passed over. Each boundary lies between two visits:
 * a run began after `previous_seen` and by `first_seen`, and ended after `last_seen` and by `next_seen` (missing where
 * no visit bounds it). Ground, moisture, season, age and derived columns are those at its first visit.
 */
export function spellSql(derived: readonly string[] = []): string {
  const first = [...AT_FIRST, ...derived.map((name) => `"${name}"`)].join(', ');
  const parts = PROBLEMS.map(
    ({ key, column }) => `
  SELECT '${key}' AS problem, * FROM (SELECT foot_key, horse_id, foot, foot_end, horse_name, client_id, breed_type,
    (row_number() OVER run_in_time)::INTEGER AS spell_number, present,
    (coalesce(lead(place) OVER run_in_time, graded + 1) - place)::INTEGER AS visits,
    visit_date AS first_seen, coalesce(lead(before) OVER run_in_time, last_visit) AS last_seen,
    ${first}, before AS previous_seen, lead(visit_date) OVER run_in_time AS next_seen
  FROM (
    SELECT foot_key, horse_id, foot, foot_end, horse_name, client_id, breed_type, visit_date, ${first},
      ${column} >= 1 AS present,
      lag(${column} >= 1) OVER foot_in_time AS present_before,
      lag(visit_date) OVER foot_in_time AS before,
      row_number() OVER foot_in_time AS place,
      count(*) OVER foot AS graded,
      max(visit_date) OVER foot AS last_visit
    FROM foot_visit WHERE ${column} IS NOT NULL
    WINDOW foot_in_time AS (PARTITION BY horse_id, foot ORDER BY visit_date, source_file, source_line),
      foot AS (PARTITION BY horse_id, foot)
  )
  WHERE present IS DISTINCT FROM present_before
  WINDOW run_in_time AS (PARTITION BY horse_id, foot ORDER BY place))`,
  );
  return `CREATE OR REPLACE VIEW spell AS ${parts.join('\n  UNION ALL')}`;
}
