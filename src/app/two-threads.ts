import type { AnalysisResult } from '../analyses/analysis.ts';
import type { Apart, JobName } from '../analyses/apart.ts';
import { type Analyst, doJob } from './analyst.ts';
import type { CallContext } from './rpc.ts';

/** Says that the other thread has ended: what it was asked is to be worked out here. */
export class AnalystGone extends Error {
  override readonly name = 'AnalystGone';
}

export type Ask = (analyst: Analyst) => Promise<AnalysisResult>;
type Job = () => Promise<AnalysisResult>;

/** Analyses that share a fit: the thread that has it at hand, or at work, is the one to ask. */
const FAMILIES: Readonly<Record<string, string>> = {
  caseload: 'forecast',
  'grow-out': 'forecast',
  'interval-plan': 'forecast',
  'one-horse': 'forecast',
};

interface TwoThreads {
  /** `here` or `there` runs the analysis: two of a page are worked out at the same time. */
  answer(use: string, here: Job, there: Ask): Promise<AnalysisResult>;
  /** For an analysis that runs here: has fits made over there; undefined where there is no other thread. */
  apart(context: CallContext): Apart | undefined;
}

/** Shares work out between this thread and another. `other` gives null where there is none. */
export function twoThreads(other: () => Analyst | null): TwoThreads {
  const underWay: { readonly family: string; readonly isHere: boolean }[] = [];
  let isGone = false;
  // Asked for with the first question, it is there by the second.
  const analystNow = (): Analyst | null => (isGone ? null : other());

  function goesHere(family: string): boolean {
    const relative = underWay.find((each) => each.family === family);
    if (relative) return relative.isHere;
    const here = underWay.filter(({ isHere }) => isHere).length;
    return here <= underWay.length - here;
  }
  async function run(family: string, isHere: boolean, job: Job): Promise<AnalysisResult> {
    const mine = { family, isHere };
    underWay.push(mine);
    try {
      return await job();
    } finally {
      underWay.splice(underWay.indexOf(mine), 1);
    }
  }
  /** What the other thread leaves undone when it ends is done here; it is asked no more. */
  async function orHere<T>(there: Promise<T>, here: () => Promise<T>): Promise<T> {
    try {
      return await there;
    } catch (error) {
      if ((error as Error).name !== 'AnalystGone') throw error;
      isGone = true;
      return here();
    }
  }

  return {
    async answer(use, here, there) {
      const family = FAMILIES[use] ?? use;
      const analyst = analystNow();
      const runHere = (): Promise<AnalysisResult> => run(family, true, here);
      if (!analyst || goesHere(family)) return runHere();
      return orHere(
        run(family, false, () => there(analyst)),
        runHere,
      );
    },
    apart(context) {
      const analyst = analystNow();
      if (!analyst) return undefined;
      return ((job: JobName, input: unknown) =>
        orHere(analyst.work({ job, input }, context), () => doJob({ job, input }, context.signal))) as Apart;
    },
  };
}
