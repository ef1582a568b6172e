import { quoteName } from '../../engine/sql-text.ts';
import { PROBLEMS, type ProblemKey } from '../../herd/problems.ts';
import type { AskContext } from '../analysis.ts';
import { NO_MARK } from '../cycle-columns.ts';
import { markAsk } from '../cycle-table.ts';
import { type CohortVisits, cohortVisits, footName, horseOf, lastDays } from '../visit-rows.ts';

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
  const feet = feetSeenLast(visits);
  const found = new Map<string, Standing[]>();
  for (const [k, { key: problem }] of PROBLEMS.entries()) {
    for (const of of feet) {
      for (const one of standingOf(of, problem, visits, visits.columns[k] as Int8Array)) {
        const known = found.get(one.horseId);
        if (known) known.push(one);
        else found.set(one.horseId, [one]);
      }
    }
  }
  return found;
}

/** A foot's places in the cohort from one up to before another: those from `last` on on the day its horse was last seen. */
interface FootVisits {
  readonly from: number;
  readonly last: number;
  readonly to: number;
}

function feetSeenLast(visits: CohortVisits): FootVisits[] {
  const { places, foot, day } = visits;
  const lastDay = lastDays(visits);
  const found: FootVisits[] = [];
  for (let from = 0, to = 0; from < places.length; from = to) {
    const at = foot[places[from]!]!;
    while (to < places.length && foot[places[to]!] === at) to++;
    let last = to;
    while (last > from && day[places[last - 1]!] === lastDay[horseOf(at)]) last--;
    if (last < to) found.push({ from, last, to });
  }
  return found;
}

/** Mostly nothing stands, and then what was before need not be looked at. */
function standingOf(
  { from, last, to }: FootVisits,
  problem: ProblemKey,
  { places, horseIds, foot }: CohortVisits,
  grades: Int8Array,
): Standing[] {
  const found: Standing[] = [];
  for (let i = last; i < to; i++) {
    const grade = grades[places[i]!]!;
    if (grade < 1) continue;
    let [before, most] = [NO_MARK, NO_MARK];
    for (let j = from; j < i; j++) {
      const then = grades[places[j]!]!;
      if (then !== NO_MARK) [before, most] = [then, Math.max(most, then)];
    }
    const at = foot[places[i]!]!;
    found.push({
      horseId: horseIds[horseOf(at)]!,
      foot: footName(at),
      problem,
      grade,
      before: before === NO_MARK ? null : before,
      wasThere: most >= 1,
    });
  }
  return found;
}
