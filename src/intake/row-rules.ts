import type { Value } from './values/parsed.ts';

/** After a trim the toe is not longer; up to this is measurement error (common practice). */
const LONGER_AFTER_MM = 3;

interface RuleFault {
  readonly reason: string;
  readonly accepted: string;
}

/** What is wrong with two toe lengths (mm) of one visit; null where they go together or one is missing. */
export function longerAfterTrim(beforeMm: Value, afterMm: Value): RuleFault | null {
  if (typeof beforeMm !== 'number' || typeof afterMm !== 'number') return null;
  if (afterMm <= beforeMm + LONGER_AFTER_MM) return null;
  const longer = rounded(afterMm - beforeMm);
  return {
    reason: `the toe is ${longer} mm longer after the trim (${rounded(afterMm)} mm) than before (${rounded(beforeMm)} mm): the two may be swapped`,
    accepted: `at most ${LONGER_AFTER_MM} mm more than before the trim`,
  };
}

const rounded = (mm: number): number => Math.round(mm * 10) / 10;
