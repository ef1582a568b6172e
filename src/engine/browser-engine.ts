import { AsyncDuckDB, VoidLogger } from '@duckdb/duckdb-wasm';
import { EngineLost } from '../core/engine-lost.ts';
import type { Engine } from './engine.ts';
import type { EngineStart } from './engine-start.ts';
import { makeLine } from './in-turn.ts';
import { joinedBytes } from './joined-bytes.ts';
import { guardLoss } from './loss-guard.ts';
import { severalPieces } from './several-pieces.ts';
import { lockedEngine } from './sql-engine.ts';

/** Size of the engine's wasm as compiled: a compressed answer's length says less. */
export const ENGINE_BYTES = 35_996_950;

/** Statements on their way at once: one that it works on, and those that it finds when it has done. */
const AT_ONCE = 3;

/** Pieces of an answer, of 2,048 rows each, that are made a table together. */
const PIECES_AT_ONCE = 32;

/** Opens the engine that `startEngine` asked for. `onBytes` reports the download of the wasm (0–1). */
export async function openBrowserEngine(
  { worker, wasm, failed, ended }: EngineStart,
  onBytes: (fraction: number) => void = () => undefined,
): Promise<Engine> {
  const database = new AsyncDuckDB(new VoidLogger(), worker);
  const loaded = database.instantiate(wasm, null, ({ bytesLoaded }) =>
    onBytes(Math.min(bytesLoaded / ENGINE_BYTES, 1)),
  );
  await Promise.race([loaded, failed, ended.then(() => Promise.reject(new EngineLost()))]);
  await database.open({ path: ':memory:' });
  const id = await database.connectInternal();
  const line = makeLine(AT_ONCE);
  const guard = guardLoss(ended);
  const alone = <T>(job: () => Promise<T>): Promise<T> => line.alone(() => guard(job));
  const together = <T>(job: () => Promise<T>): Promise<T> => line.together(() => guard(job));

  /** The head of an answer, and then its pieces. */
  async function* cancellable(sql: string, signal?: AbortSignal): AsyncGenerator<Uint8Array, void> {
    const heed = async (): Promise<void> => {
      if (!signal?.aborted) return;
      await database.cancelPendingQuery(id);
      signal.throwIfAborted();
    };
    signal?.throwIfAborted();
    let header = await database.startPendingQuery(id, sql, true);
    while (header === null) {
      await heed();
      header = await database.pollPendingQuery(id);
    }
    yield header;
    for (;;) {
      await heed();
      const piece = await database.fetchQueryResults(id);
      if (piece === null) continue;
      if (piece.length === 0) return;
      yield piece;
    }
  }
  async function runCancellable(sql: string, signal: AbortSignal): Promise<Uint8Array[]> {
    const pieces: Uint8Array[] = [];
    for await (const piece of cancellable(sql, signal)) pieces.push(piece);
    return pieces;
  }
  async function runInPieces(
    sql: string,
    take: (pieces: Uint8Array[]) => void,
    signal?: AbortSignal,
  ): Promise<void> {
    let isTaking = false;
    try {
      await severalPieces(cancellable(sql, signal), PIECES_AT_ONCE, (pieces) => {
        isTaking = true;
        take(pieces);
        isTaking = false;
      });
    } catch (error) {
      if (isTaking) await database.cancelPendingQuery(id);
      throw error;
    }
  }

  return lockedEngine({
    runQuery: (sql, signal) =>
      signal
        ? alone<Uint8Array | Uint8Array[]>(() => runCancellable(sql, signal))
        : together<Uint8Array | Uint8Array[]>(() => database.runQuery(id, sql)),
    runInPieces: (sql, take, signal) => alone(() => runInPieces(sql, take, signal)),
    prepare: (sql) =>
      together(async () => {
        await database.closePrepared(id, await database.createPrepared(id, sql));
      }),
    insert: (ipc, table, into, schema) =>
      together(() =>
        // The bytes are moved to the worker with all of their memory.
        database.insertArrowFromIPCStream(id, joinedBytes(ipc), {
          name: table,
          schema,
          create: into === 'new',
        }),
      ),
    async close() {
      await database.terminate();
    },
  });
}
