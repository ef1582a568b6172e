import type { AnalysisResult } from '../analyses/analysis.ts';
import type { Analyst } from './analyst.ts';

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

/**
 * Shares analyses out between this thread and another, so that two of a page are worked out at the same time. `other`
 * gives null where there is none.
 */
export function twoThreads(
  other: () => Analyst | null,
): (use: string, here: Job, there: Ask) => Promise<AnalysisResult> {
  const underWay: { readonly family: string; readonly isHere: boolean }[] = [];
  let isGone = false;

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

  return async (use, here, there) => {
    const family = FAMILIES[use] ?? use;
    // Asked for with the first question, it is there by the second.
    const analyst = isGone ? null : other();
    if (!analyst || goesHere(family)) return run(family, true, here);
    try {
      return await run(family, false, () => there(analyst));
    } catch (error) {
      if ((error as Error).name !== 'AnalystGone') throw error;
      isGone = true;
      return run(family, true, here);
    }
  };
}
