import type { Task } from '../analyses/apart.ts';
import { decodeArrow } from '../engine/arrow.ts';
import type { Engine } from '../engine/engine.ts';
import type { CallContext, Caller } from './rpc.ts';

/** What another thread may ask of the herd's own: an answer of the engine comes as Arrow bytes and is made a table over there. */
export type LentMethods = {
  readonly bytes: (sql: string) => Promise<Uint8Array | Uint8Array[]>;
  readonly check: (sql: string) => Promise<void>;
  /** A fit made by whichever thread is free. */
  readonly fit: (task: Task, context: CallContext) => Promise<unknown>;
};

export const lentMethods = (engine: Engine, fit: LentMethods['fit']): LentMethods => ({
  bytes: (sql) => engine.bytes(sql),
  check: (sql) => engine.check(sql),
  fit,
});

const notLent = (): Promise<never> =>
  Promise.reject(new Error('a borrowed engine must only be asked: it changes nothing'));

/** The engine of another thread. It works on what it was asked while this thread does something else. */
export function borrowedEngine(owner: Caller<LentMethods>): Engine {
  const bytes = (sql: string): Promise<Uint8Array | Uint8Array[]> => owner.call('bytes', sql);
  return {
    worksAhead: true,
    bytes,
    query: async (sql, signal) => {
      signal?.throwIfAborted();
      const answer = await bytes(sql);
      signal?.throwIfAborted();
      return decodeArrow(answer);
    },
    check: (sql) => owner.call('check', sql),
    run: notLent,
    write: notLent,
    append: notLent,
    fill: notLent,
    version: notLent,
    close: notLent,
  };
}
