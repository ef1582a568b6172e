import type { Analysis } from './analysis.ts';
import { growth } from './growth/index.ts';
import { intervalEffect } from './interval-effect/index.ts';
import { prevalence } from './prevalence/index.ts';
import { recurrence } from './recurrence/index.ts';

/** Every analysis a page or the batch command can ask for, by name. */
// biome-ignore lint/suspicious/noExplicitAny: options differ by analysis and are checked by each one's schema
export const ANALYSES: readonly Analysis<any>[] = [growth, recurrence, intervalEffect, prevalence];

// biome-ignore lint/suspicious/noExplicitAny: as above
export function analysisNamed(name: string): Analysis<any> {
  const found = ANALYSES.find((analysis) => analysis.name === name);
  if (!found) {
    throw new Error(`there is no analysis ${name}: use one of ${ANALYSES.map((a) => a.name).join(', ')}`);
  }
  return found;
}
