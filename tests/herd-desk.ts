import type { Memory } from '../src/analyses/memory.ts';
import type { HerdMethods } from '../src/app/herd-service.ts';
import { pageDesk } from '../src/app/page-desk.ts';
import type { CallContext, Caller } from '../src/app/rpc.ts';
import { makeScenes } from '../src/app/scenes.ts';
import type { CivilDay } from '../src/core/civil-day.ts';
import type { Engine } from '../src/engine/engine.ts';

/** The herd's desk without a worker between. Makes databases of its own in the engine: one desk an engine. */
export function deskOf(engine: Engine, today: CivilDay, memory: Memory | null = null): Caller<HerdMethods> {
  const desk = pageDesk(engine, today, makeScenes(engine), memory);
  return {
    call: (name, input, options = {}) => {
      const method = desk[name as keyof typeof desk] as (
        input: unknown,
        context: CallContext,
      ) => Promise<never>;
      const signal = options.signal ?? new AbortController().signal;
      return method(input, { signal, progress: () => undefined });
    },
  };
}
