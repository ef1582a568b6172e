import { countHerd, levelsOf } from '../analyses/load-herd.ts';
import type { Engine } from '../engine/engine.ts';
import { COHORT_COLUMNS, type CohortColumn } from './cohort-choice.ts';
import type { HerdSummary, Level } from './herd-service.ts';

/** What is loaded and by what it can be narrowed. */
export async function summarise(engine: Engine): Promise<HerdSummary> {
  const levels: Partial<Record<CohortColumn, Level[]>> = {};
  for (const column of Object.keys(COHORT_COLUMNS) as CohortColumn[]) {
    levels[column] = await levelsOf(engine, column);
  }
  return { counts: await countHerd(engine), levels: levels as Record<CohortColumn, Level[]> };
}
