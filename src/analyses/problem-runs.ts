import { NO_MARK } from './cycle-columns.ts';
import { byFoot, type CohortVisits } from './visit-rows.ts';

/** A run of visits of one foot at which a problem was present, or clear, as `spell` has it (`src/herd/spell-sql.ts`). */
export interface ProblemRun {
  /** Place of its first visit. */
  readonly at: number;
  readonly foot: number;
  /** From 1 within the foot. */
  readonly number: number;
  readonly isPresent: boolean;
  readonly visits: number;
  /** Days since 1970: it began after `after` and by `first`, and ended after `last` and by `next`; NaN where no visit bounds it. */
  readonly after: number;
  readonly first: number;
  readonly last: number;
  readonly next: number;
}

/**
 * By horse, by foot in the order of the vocabulary, and in time; a visit at which it was not graded is passed over. It was
 * present from the grade `least` on.
 */
export function problemRuns(visits: CohortVisits, grades: Int8Array, least = 1): ProblemRun[] {
  const { foot, day } = visits;
  const runs: ProblemRun[] = [];
  for (const rows of byFoot(visits)) {
    const graded = rows.filter((row) => grades[row] !== NO_MARK);
    let number = 0;
    for (let from = 0; from < graded.length; ) {
      const at = graded[from]!;
      const isPresent = grades[at]! >= least;
      let to = from + 1;
      while (to < graded.length && grades[graded[to]!]! >= least === isPresent) to++;
      number += 1;
      runs.push({
        at,
        foot: foot[at]!,
        number,
        isPresent,
        visits: to - from,
        after: from === 0 ? Number.NaN : day[graded[from - 1]!]!,
        first: day[at]!,
        last: day[graded[to - 1]!]!,
        next: to === graded.length ? Number.NaN : day[graded[to]!]!,
      });
      from = to;
    }
  }
  return runs;
}
