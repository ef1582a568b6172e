import { quoteName } from '../../engine/sql-text.ts';
import { PROBLEMS, type ProblemKey } from '../../herd/problems.ts';
import type { AskContext } from '../analysis.ts';
import { NO_MARK } from '../cycle-columns.ts';
import { markAsk } from '../cycle-table.ts';
import { cohortVisits, footName, horseOf, lastDays } from '../visit-rows.ts';

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

/** Everything that stood when each horse was last seen, by horse: problem by problem, foot by foot. */
export async function standingByHorse(context: AskContext): Promise<Map<string, Standing[]>> {
  const asks = PROBLEMS.map(({ column }) => markAsk(quoteName(column)));
  const visits = await cohortVisits(context, asks);
  const { places, horseIds, foot, day } = visits;
  const last = lastDays(visits);
  const found = new Map<string, Standing[]>();
  for (const [k, { key: problem }] of PROBLEMS.entries()) {
    const grades = visits.columns[k] as Int8Array;
    let [before, most] = [NO_MARK, NO_MARK];
    for (const [i, row] of places.entries()) {
      const at = foot[row]!;
      if (i === 0 || foot[places[i - 1]!] !== at) [before, most] = [NO_MARK, NO_MARK];
      const grade = grades[row]!;
      const horse = horseOf(at);
      if (grade >= 1 && day[row] === last[horse]) {
        const one: Standing = {
          horseId: horseIds[horse]!,
          foot: footName(at),
          problem,
          grade,
          before: before === NO_MARK ? null : before,
          wasThere: most >= 1,
        };
        const known = found.get(one.horseId);
        if (known) known.push(one);
        else found.set(one.horseId, [one]);
      }
      if (grade !== NO_MARK) [before, most] = [grade, Math.max(most, grade)];
    }
  }
  return found;
}
