import { PROBLEMS } from './problems.ts';

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
