import type { AnalysisResult } from '../analyses/analysis.ts';
import type { Apart, JobName } from '../analyses/apart.ts';
import { type Analyst, doJob, type Task } from './analyst.ts';
import { fitQueue } from './fit-queue.ts';
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

/** They have fits made by whichever thread is free, which only this one can ask for: they stay here. */
const SHARING: ReadonlySet<string> = new Set([
  'recurrence',
  'spells',
  'interval-effect',
  'entry-points',
  'interval-plan',
  'caseload',
  'relief-audit',
]);

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

interface TwoThreads {
  /** `here` or `there` runs the analysis: two of a page are worked out at the same time. */
  answer(use: string, here: Job, there: Ask): Promise<AnalysisResult>;
  /** For an analysis that runs here: has fits made by the thread that is free; undefined where there is no other thread. */
  apart(context: CallContext): Apart | undefined;
}

/** Shares work out between this thread and another. `other` gives null where there is none. */
export function twoThreads(other: () => Analyst | null): TwoThreads {
  const underWay: { readonly family: string; readonly weight: number; readonly isHere: boolean }[] = [];
  let isGone = false;
  // Asked for with the first question, it is there by the second.
  const analystNow = (): Analyst | null => (isGone ? null : other());

  function goesHere(use: string): boolean {
    const relative = underWay.find(({ family }) => family === familyOf(use));
    if (relative) return relative.isHere;
    const load = (isOf: boolean): number =>
      underWay.reduce((sum, { weight, isHere }) => (isHere === isOf ? sum + weight : sum), 0);
    return SHARING.has(use) || load(true) <= load(false);
  }
  async function run(use: string, isHere: boolean, job: Job): Promise<AnalysisResult> {
    const mine = { family: familyOf(use), weight: WEIGHTS[use] ?? USUAL_WEIGHT, isHere };
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

  const doHere = (task: Task, { signal }: CallContext): Promise<unknown> => doJob(task, signal);
  const fits = fitQueue(doHere, (task, context) => {
    const analyst = analystNow();
    return analyst ? orHere(analyst.work(task, context), () => doHere(task, context)) : doHere(task, context);
  });
  return {
    async answer(use, here, there) {
      const analyst = analystNow();
      const runHere = (): Promise<AnalysisResult> => run(use, true, here);
      if (!analyst || goesHere(use)) return runHere();
      return orHere(
        run(use, false, () => there(analyst)),
        runHere,
      );
    },
    apart: (context) =>
      analystNow() ? (((job: JobName, input: unknown) => fits({ job, input }, context)) as Apart) : undefined,
  };
}

const familyOf = (use: string): string => FAMILIES[use] ?? use;
