import { decodeArrow } from '../engine/arrow.ts';
import type { Engine } from '../engine/engine.ts';
import type { Caller } from './rpc.ts';

/** What of an engine another thread may ask for: an answer comes as Arrow bytes and is made a table over there. */
export type LentEngine = {
  readonly bytes: (sql: string) => Promise<Uint8Array | Uint8Array[]>;
  readonly check: (sql: string) => Promise<void>;
};

export const lentEngine = (engine: Engine): LentEngine => ({
  bytes: (sql) => engine.bytes(sql),
  check: (sql) => engine.check(sql),
});

const notLent = (): Promise<never> =>
  Promise.reject(new Error('a borrowed engine must only be asked: it changes nothing'));

/** The engine of another thread. It works on what it was asked while this thread does something else. */
export function borrowedEngine(owner: Caller<LentEngine>): Engine {
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
