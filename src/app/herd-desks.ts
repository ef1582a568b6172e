import './no-eval.ts';
import { makeMemory } from '../analyses/memory.ts';
import type { CivilDay } from '../core/civil-day.ts';
import { openBrowserEngine } from '../engine/browser-engine.ts';
import type { EngineStart } from '../engine/engine-start.ts';
import { makeQueue } from '../engine/in-turn.ts';
import { initParquet } from '../engine/parquet.ts';
import type { Analyst } from './analyst.ts';
import { changingRows } from './changing-rows.ts';
import type { HerdMethods, IntakeMethods, StartInput } from './herd-service.ts';
import { intakeDesk } from './intake-desk.ts';
import { openAnalyst } from './open-analyst.ts';
import { pageDesk } from './page-desk.ts';
import type { CallContext } from './rpc.ts';
import { makeScenes } from './scenes.ts';
import { sheetDesk } from './sheet-desk.ts';
import type { SheetMethods } from './sheet-service.ts';
import { shareOut } from './threads.ts';

/** Threads for estimators. The engine has one of its own, and so has the screen. */
const ANALYSTS = 2;

/** Opens the engine that was asked for, and sets up all that answers from it. `script` is this worker's own. */
export async function openDesks(
  start: EngineStart,
  input: StartInput,
  script: string,
  { progress }: CallContext,
): Promise<Omit<HerdMethods, 'start'> & { readonly version: string }> {
  const engine = await openBrowserEngine(start, (fraction) =>
    progress(fraction, fraction < 1 ? 'Loading the engine' : 'Starting the engine'),
  );
  initParquet(new URL(input.parquetWasm));
  // Fetched now, while the server is there: a Parquet file may come when it no longer is.
  void import('../intake/parquet-source.ts');
  const today = input.today as CivilDay;
  const scenes = makeScenes(engine);
  const intake = intakeDesk(engine, today);
  const memory = makeMemory();
  const alone = makeQueue();
  let analysts: readonly Analyst[] | null = null;
  const threads = shareOut(() => {
    analysts ??= Array.from({ length: ANALYSTS }, () => openAnalyst(script, engine, threads.fit));
    return analysts;
  });
  const pages = pageDesk(engine, today, scenes, memory, threads);
  return {
    ...changingRows<IntakeMethods & SheetMethods>(memory, alone, {
      ...intake,
      admit: (admitted, context) => scenes.inHerd(() => intake.admit(admitted, context)),
      startBlank: (input, context) => scenes.inHerd(() => intake.startBlank(input, context)),
      ...sheetDesk(engine, today, scenes.inHerd),
    }),
    ...pages,
    setCohort: (where, context) => alone(() => pages.setCohort(where, context)),
    countCohort: (input, context) => alone(() => pages.countCohort(input, context)),
    version: await engine.version(),
  };
}
