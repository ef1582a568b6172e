import type { Engine } from '../engine/engine.ts';
import { HERD } from '../herd/herd-names.ts';
import { cohortSql, isPlainCondition, nextCohortSql } from '../herd/relations.ts';

/** Looks at the rows for which `where` holds. Throws with the engine's message if it is no condition over them. */
export async function setCohort(engine: Engine, where: string): Promise<void> {
  if (isPlainCondition(where)) {
    try {
      await engine.run(nextCohortSql(where).join(';\n'));
      return;
    } catch {
      // Another kind of condition stands, or this one is none: to be found out below.
    }
  }
  await layCohortViews(engine, where);
}

/** The same where the views are to be made anew in any case: the herd's relations have got other columns. */
export async function layCohortViews(engine: Engine, where: string): Promise<void> {
  // A comment or a second statement in the condition would change the view's meaning: the engine parses it alone first.
  await Promise.all(
    ['foot_visit', 'trim_cycle'].map((relation) =>
      engine.check(`SELECT 1 FROM ${HERD}.${relation}_all WHERE (${where}\n)`),
    ),
  );
  await engine.run(cohortSql(where).join(';\n'));
}
