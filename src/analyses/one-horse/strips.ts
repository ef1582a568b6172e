import { PROBLEMS, type ProblemKey } from '../../herd/problems.ts';
import type { Foot } from '../../herd/vocabularies.ts';
import { byFoot, type FootVisit, numberAt } from './data.ts';

/** A run of neighbouring visits of one foot at which a problem had one grade, or was not looked at (`grade` null). */
export interface Strip {
  readonly foot: Foot;
  readonly footKey: string;
  readonly problem: ProblemKey;
  readonly column: string;
  readonly grade: number | null;
  readonly firstSeen: number;
  readonly lastSeen: number;
  readonly visits: number;
  /** Where it is drawn from and to: half way to the visits beside it, since the day of a change is not known. */
  readonly from: number;
  readonly to: number;
}

/** Room to be seen at the first and last visit, where nothing stands beside it. */
const EDGE_DAYS = 10;

export function strips(rows: readonly FootVisit[]): Strip[] {
  return byFoot(rows).flatMap((visits) =>
    PROBLEMS.flatMap(({ key, column }) => stripsOf(visits, key, column)),
  );
}

function stripsOf(visits: readonly FootVisit[], problem: ProblemKey, column: string): Strip[] {
  const runs: FootVisit[][] = [];
  for (const visit of visits) {
    const run = runs.at(-1);
    if (run && numberAt(run[0]!, column) === numberAt(visit, column)) run.push(visit);
    else runs.push([visit]);
  }
  // A strip that was never looked at is left out: an empty row says so.
  if (runs.every((run) => numberAt(run[0]!, column) === null)) return [];
  return runs.map((run, k) => {
    const [first, last] = [run[0]!, run.at(-1)!];
    const [before, after] = [runs[k - 1]?.at(-1), runs[k + 1]?.[0]];
    return {
      foot: first.foot,
      footKey: first.footKey,
      problem,
      column,
      grade: numberAt(first, column),
      firstSeen: first.day,
      lastSeen: last.day,
      visits: run.length,
      from: before ? (before.day + first.day) / 2 : first.day - EDGE_DAYS,
      to: after ? (last.day + after.day) / 2 : last.day + EDGE_DAYS,
    };
  });
}
