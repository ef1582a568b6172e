import { numbers, texts } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import { PROBLEMS, type ProblemKey } from '../../herd/problems.ts';
import { footOrder } from '../../herd/relations.ts';
import type { AnalysisContext } from '../analysis.ts';

/** A problem present in a foot at its horse's latest visit. */
export interface Standing {
  readonly horseId: string;
  readonly foot: string;
  readonly problem: ProblemKey;
  readonly grade: number;
  /** Grade at the graded visit before; null without one. */
  readonly before: number | null;
  /** Whether it was present at some visit before that. */
  readonly wasThere: boolean;
}

/** A grade at the graded visit before, and whether the problem was there at any before that row, of every problem at once. */
function standingSql(): string {
  const grades = PROBLEMS.map(({ column }) => quoteName(column));
  const columns = PROBLEMS.flatMap(({ key, column }) => {
    const grade = quoteName(column);
    return [
      `${grade}::DOUBLE AS ${key}`,
      `(last_value(${grade} IGNORE NULLS) OVER earlier)::DOUBLE AS ${key}_before`,
      `coalesce(max(${grade}) OVER earlier >= 1, FALSE)::INTEGER AS ${key}_was`,
    ];
  });
  return `
    WITH last_seen AS (
      SELECT horse_id, max(visit_date) AS last_visit FROM foot_visit GROUP BY horse_id
    ), standing AS (
      SELECT DISTINCT v.horse_id, v.foot FROM foot_visit v
      JOIN last_seen l ON l.horse_id = v.horse_id AND l.last_visit = v.visit_date
      WHERE ${grades.map((grade) => `${grade} >= 1`).join(' OR ')}
    )
    SELECT horse_id, foot, ${columns.join(', ')}
    FROM (SELECT v.*, l.last_visit FROM foot_visit v JOIN standing USING (horse_id, foot) JOIN last_seen l USING (horse_id))
    WINDOW earlier AS (
      PARTITION BY horse_id, foot ORDER BY visit_date, source_file, source_line ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
    )
    QUALIFY visit_date = last_visit
    ORDER BY horse_id, ${footOrder('foot')}`;
}

/** Everything that stood when each horse was last seen, by horse: problem by problem, foot by foot. */
export async function standingByHorse({
  engine,
  signal,
}: Pick<AnalysisContext, 'engine' | 'signal'>): Promise<Map<string, Standing[]>> {
  const found = new Map<string, Standing[]>();
  const table = await engine.query(standingSql(), signal);
  const [ids, feet] = [texts(table, 'horse_id'), texts(table, 'foot')];
  for (const { key: problem } of PROBLEMS) {
    const grade = numbers(table, problem);
    const before = numbers(table, `${problem}_before`);
    const was = numbers(table, `${problem}_was`);
    for (let row = 0; row < table.rowCount; row += 1) {
      if (!(grade[row]! >= 1)) continue;
      const horseId = ids[row]!;
      const one: Standing = {
        horseId,
        foot: feet[row]!,
        problem,
        grade: grade[row]!,
        before: Number.isNaN(before[row]!) ? null : before[row]!,
        wasThere: was[row] === 1,
      };
      const known = found.get(horseId);
      if (known) known.push(one);
      else found.set(horseId, [one]);
    }
  }
  return found;
}
