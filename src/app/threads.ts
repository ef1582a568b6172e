import type { AnalysisResult } from '../analyses/analysis.ts';
import type { Task } from '../analyses/apart.ts';
import { type Analyst, doJob } from './analyst.ts';
import { fitQueue } from './fit-queue.ts';
import type { CallContext } from './rpc.ts';

/** Says that another thread has ended: what it was asked is to be worked out here. */
export class AnalystGone extends Error {
  override readonly name = 'AnalystGone';
}

type Ask = (analyst: Analyst, sharesFits: boolean) => Promise<AnalysisResult>;
type Job = () => Promise<AnalysisResult>;

/** Analyses that share a fit: the thread that has it at hand, or at work, is the one to ask. */
const FAMILIES: Readonly<Record<string, string>> = {
  caseload: 'forecast',
  'interval-plan': 'forecast',
  'one-horse': 'forecast',
};

/**
 * Asked twice by a page, with nothing to share: Grow-out looks ahead, and back from growth as of days of its own. They go
 * side by side.
 */
const SIDE_BY_SIDE: ReadonlySet<string> = new Set(['grow-out']);

/** About how long each takes beside the others. */
const WEIGHTS: Readonly<Record<string, number>> = {
  recurrence: 5,
  'interval-effect': 4,
  spells: 3,
  'onset-clearing': 3,
  growth: 2,
  drift: 2,
  wear: 1,
};
const USUAL_WEIGHT = 2;

export interface Threads {
  /** Has the threads there by the first question. */
  begin(): void;
  /** Has an analysis run by the thread with the least to do: `ask` there, or `here` where there is none. */
  answer(use: string, here: Job, ask: Ask): Promise<AnalysisResult>;
  /** Has a fit made by the thread that is free first. */
  fit(task: Task, context: CallContext): Promise<unknown>;
}

/**
 * Shares work out between threads other than this one, which so has time for what is asked of it: the engine's answers on
 * their way, the sheet, what is to be stopped. `analysts` gives those that there are, and starts
 * them when it is first asked.
 */
export function shareOut(analysts: () => readonly Analyst[]): Threads {
  const underWay: { readonly family: string; readonly weight: number; readonly analyst: Analyst }[] = [];
  const gone = new Set<Analyst>();
  const alive = (): readonly Analyst[] => analysts().filter((analyst) => !gone.has(analyst));

  function placeFor(use: string): Analyst | undefined {
    const there = alive();
    const relative = SIDE_BY_SIDE.has(use)
      ? undefined
      : underWay.find(({ family, analyst }) => family === familyOf(use) && !gone.has(analyst));
    if (relative) return relative.analyst;
    const load = (of: Analyst): number =>
      underWay.reduce((sum, { weight, analyst }) => (analyst === of ? sum + weight : sum), 0);
    return there.length === 0 ? undefined : there.reduce((a, b) => (load(b) < load(a) ? b : a));
  }
  /** What a thread leaves undone when it ends is done here; it is asked no more. */
  async function orHere<T>(analyst: Analyst, there: Promise<T>, here: () => Promise<T>): Promise<T> {
    try {
      return await there;
    } catch (error) {
      if ((error as Error).name !== 'AnalystGone') throw error;
      gone.add(analyst);
      return here();
    }
  }
  return {
    begin: () => void analysts(),
    async answer(use, here, ask) {
      const analyst = placeFor(use);
      if (!analyst) return here();
      const mine = { family: familyOf(use), weight: WEIGHTS[use] ?? USUAL_WEIGHT, analyst };
      underWay.push(mine);
      try {
        return await orHere(analyst, ask(analyst, alive().length > 1), here);
      } finally {
        underWay.splice(underWay.indexOf(mine), 1);
      }
    },
    fit: fitQueue(
      alive,
      (analyst, task, context) => {
        const here = (): Promise<unknown> => doJob(task, context.signal);
        return analyst ? orHere(analyst, analyst.work(task, context), here) : here();
      },
      (analyst) => analyst.listens(),
    ),
  };
}

const familyOf = (use: string): string => FAMILIES[use] ?? use;
