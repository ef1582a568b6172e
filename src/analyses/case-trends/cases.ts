import { type Table, textColumn } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { ResultTable } from '../analysis.ts';
import { groupSql } from '../groups.ts';
import { gradeColumn } from './data.ts';
import type { TrendOptions } from './options.ts';

/** Runs of graded visits at which a foot was a case, the latest first; `cases` is how many there are in all. */
export function casesSql(options: TrendOptions): string {
  const grade = gradeColumn(options);
  return `
    WITH seen AS (
      SELECT *, ${grade} AS grade, ${grade} >= ${options.grade} AS present,
        (lag(${grade} >= ${options.grade}) OVER foot_in_time) IS DISTINCT FROM (${grade} >= ${options.grade}) AS turns
      FROM foot_visit WHERE ${grade} IS NOT NULL
      WINDOW foot_in_time AS (PARTITION BY foot_key ORDER BY visit_date, source_file, source_line)
    ), numbered AS (
      SELECT *, sum(turns::INTEGER) OVER (PARTITION BY foot_key ORDER BY visit_date, source_file, source_line ROWS UNBOUNDED PRECEDING) AS run
      FROM seen
    ), runs AS (
      SELECT foot_key, run, any_value(present) AS present, any_value(horse_id) AS horse_id, any_value(horse_name) AS horse_name,
        any_value(client_id) AS client_id, any_value(foot) AS foot,
        first(grade ORDER BY visit_date)::INTEGER AS first_grade, max(grade)::INTEGER AS worst_grade,
        min(visit_date) AS first_seen, max(visit_date) AS last_seen, count(*)::INTEGER AS n_visits,
        CASE WHEN bool_or(antifungal) THEN 'yes' WHEN count(antifungal) = 0 THEN 'not recorded' ELSE 'no' END AS treated
      FROM numbered GROUP BY foot_key, run
    ), bounded AS (
      SELECT *,
        lag(last_seen) OVER (PARTITION BY foot_key ORDER BY run) AS last_clear,
        lead(first_seen) OVER (PARTITION BY foot_key ORDER BY run) AS clear_by
      FROM runs
    )
    SELECT horse_id, horse_name, client_id, ${groupSql('foot')} AS foot_words, first_grade, worst_grade,
      last_clear, first_seen, last_seen, clear_by,
      CASE WHEN clear_by IS NULL THEN 'yes' ELSE 'no' END AS standing, treated, n_visits,
      count(*) OVER () AS cases, count(*) FILTER (WHERE clear_by IS NULL) OVER () AS cases_standing,
      'foot_key = ''' || replace(foot_key, '''', '''''') || ''' AND visit_date BETWEEN DATE ''' || first_seen::VARCHAR
        || ''' AND DATE ''' || last_seen::VARCHAR || ''' AND ' || ${literal(grade)} || ' >= ${options.grade}' AS behind,
      coalesce(horse_name, horse_id) || ', ' || ${groupSql('foot')} || ', while it was there' AS behind_title
    FROM bounded WHERE present${options.list === 'standing' ? ' AND clear_by IS NULL' : ''}
    ORDER BY first_seen DESC, horse_id, foot_key LIMIT ${options.limit}`;
}

export function casesTable(found: Table, { problem }: TrendOptions): ResultTable {
  const { cases, cases_standing, foot_words, ...columns } = found.columns;
  return {
    name: 'cases',
    title: `Cases of ${problemLabel(problem)}`,
    relation: 'foot_visit',
    columns: [
      { name: 'horse_id', label: 'Horse' },
      { name: 'horse_name', label: 'Name' },
      { name: 'client_id', label: 'Client' },
      { name: 'foot', label: 'Foot' },
      { name: 'problem', label: 'Problem' },
      { name: 'first_grade', label: 'Grade when first seen', digits: 0 },
      { name: 'worst_grade', label: 'Worst grade', digits: 0 },
      { name: 'last_clear', label: 'Last seen clear' },
      { name: 'first_seen', label: 'First seen' },
      { name: 'last_seen', label: 'Last seen' },
      { name: 'clear_by', label: 'Clear again by' },
      { name: 'standing', label: 'Standing at last visit' },
      { name: 'treated', label: 'Antifungal given' },
      { name: 'n_visits', label: 'Visits with it', digits: 0 },
    ],
    table: {
      rowCount: found.rowCount,
      columns: {
        ...columns,
        foot: foot_words!,
        problem: textColumn(Array.from({ length: found.rowCount }, () => problemLabel(problem))),
      },
    },
  };
}
