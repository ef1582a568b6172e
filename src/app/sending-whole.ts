import type { Engine } from '../engine/engine.ts';

/**
 * The engine for analyses, whose statements are known and short: sent whole and answered whole, so that it works through
 * them while this thread estimates. A statement that can be called off is done bit by bit, each bit asked for; whoever
 * asks is often busy. Called off, here, is what has not been sent.
 */
export function sendingWhole(engine: Engine): Engine {
  const whole =
    <T>(send: (sql: string) => Promise<T>) =>
    async (sql: string, signal?: AbortSignal): Promise<T> => {
      signal?.throwIfAborted();
      const result = await send(sql);
      signal?.throwIfAborted();
      return result;
    };
  const { inPieces: _, ...rest } = engine;
  return {
    ...rest,
    worksAhead: true,
    run: whole((sql) => engine.run(sql)),
    query: whole((sql) => engine.query(sql)),
  };
}
