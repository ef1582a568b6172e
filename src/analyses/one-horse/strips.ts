import { PROBLEMS, type ProblemKey } from '../../herd/problems.ts';
import type { Foot } from '../../herd/vocabularies.ts';
import { byFoot, type FootVisit, numberAt } from './data.ts';

/** A run of neighbouring visits of one foot at which a problem had one grade, or was not looked at (`grade` null). */
interface Strip {
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

/** Room to be seen where there is but one visit. */
const EDGE_DAYS = 10;

/** The first and the last day that drawings of these rows reach to. */
export function spanOf(rows: readonly FootVisit[]): readonly [number, number] | null {
  if (rows.length === 0) return null;
  const days = rows.map(({ day }) => day);
  const [first, last] = [Math.min(...days), Math.max(...days)];
  return first === last ? [first - EDGE_DAYS, last + EDGE_DAYS] : [first, last];
}

export function strips(rows: readonly FootVisit[]): Strip[] {
  const span = spanOf(rows);
  if (!span) return [];
  return byFoot(rows).flatMap((visits) =>
    PROBLEMS.flatMap(({ key, column }) => stripsOf(visits, key, column, span)),
  );
}

function stripsOf(
  visits: readonly FootVisit[],
  problem: ProblemKey,
  column: string,
  [start, end]: readonly [number, number],
): Strip[] {
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
      from: before
        ? (before.day + first.day) / 2
        : Math.min(first.day, Math.max(start, first.day - EDGE_DAYS)),
      to: after ? (last.day + after.day) / 2 : Math.max(last.day, Math.min(end, last.day + EDGE_DAYS)),
    };
  });
}
