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

const column = (problem: ProblemKey): string => PROBLEMS.find(({ key }) => key === problem)!.column;

function standingSql(problem: ProblemKey): string {
  const grade = quoteName(column(problem));
  return `
    WITH last_seen AS (
      SELECT horse_id, max(visit_date) AS last_visit FROM foot_visit GROUP BY horse_id
    ), seen AS (
      SELECT horse_id, foot, visit_date, ${grade}::DOUBLE AS grade,
        (lag(${grade}) OVER foot_in_time)::DOUBLE AS before,
        coalesce(max(${grade}) OVER (foot_in_time ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) >= 1, FALSE) AS was_there
      FROM foot_visit WHERE ${grade} IS NOT NULL
      WINDOW foot_in_time AS (PARTITION BY foot_key ORDER BY visit_date, source_file, source_line)
    )
    SELECT s.horse_id, s.foot, s.grade, s.before, s.was_there::INTEGER AS was_there
    FROM seen s JOIN last_seen l ON l.horse_id = s.horse_id AND l.last_visit = s.visit_date
    WHERE s.grade >= 1
    ORDER BY s.horse_id, ${footOrder('s.foot')}`;
}

/** Everything that stood when each horse was last seen, by horse. */
export async function standingByHorse({
  engine,
  signal,
}: Pick<AnalysisContext, 'engine' | 'signal'>): Promise<Map<string, Standing[]>> {
  const found = new Map<string, Standing[]>();
  for (const { key: problem } of PROBLEMS) {
    const table = await engine.query(standingSql(problem), signal);
    const [ids, feet] = [texts(table, 'horse_id'), texts(table, 'foot')];
    const [grade, before, was] = [
      numbers(table, 'grade'),
      numbers(table, 'before'),
      numbers(table, 'was_there'),
    ];
    for (let row = 0; row < table.rowCount; row += 1) {
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
