import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join, sep } from 'node:path';
import type { DuckDBConnection } from '@duckdb/node-api';
import { Compression, Table as WasmTable, WriterPropertiesBuilder, writeParquet } from 'parquet-wasm/esm';
import type { Table } from '../core/table.ts';
import type { Engine } from './engine.ts';
import { makeQueue } from './in-turn.ts';
import { joinedBytes } from './joined-bytes.ts';
import { type GrowingColumn, growingColumn } from './native-cells.ts';
import { initParquet } from './parquet.ts';
import { lockedEngine } from './sql-engine.ts';
import { literal, quoteName } from './sql-text.ts';

interface NativeOptions {
  /** As the engine writes it (`2GB`); left out, the engine's own four fifths of the machine's memory. */
  readonly memoryLimit?: string;
  /** Folder in which room is made for what does not fit in memory; the system's own for temporary files if left out. */
  readonly temporary?: string;
  /** A database to be kept on disk under this name rather than in memory, from where it is read as needed. */
  readonly onDisk?: string;
}

/** Is the native engine there? It is an optional package. */
export function hasNativeEngine(): boolean {
  try {
    createRequire(import.meta.url).resolve('@duckdb/node-api');
    return true;
  } catch {
    return false;
  }
}

/**
 * The engine as a native library: threads, and room on disk for what memory cannot hold. Rows are brought in as Parquet
 * in a folder of its own, the only one that SQL may touch once the engine is locked; the folder goes when it is closed.
 * Throws where the package is not there.
 */
export async function openNativeEngine(options: NativeOptions = {}): Promise<Engine> {
  const { DuckDBInstance } = await import('@duckdb/node-api');
  const require = createRequire(import.meta.url);
  await initParquet(await readFile(require.resolve('parquet-wasm/esm/parquet_wasm_bg.wasm')));
  const folder = await mkdtemp(join(options.temporary ?? tmpdir(), 'growout-engine-'));
  const [spill, room] = [join(folder, 'spill'), join(folder, 'room')];
  await mkdir(room);
  const instance = await DuckDBInstance.create(':memory:', {
    temp_directory: spill,
    ...(options.memoryLimit !== undefined && { memory_limit: options.memoryLimit }),
  });
  const connection = await instance.connect();
  if (options.onDisk !== undefined) {
    const file = literal(join(room, 'record.duckdb'));
    await connection.run(`ATTACH ${file} AS ${quoteName(options.onDisk)}`);
  }
  await connection.run(`SET allowed_directories = [${literal(room + sep)}]`);
  const inTurn = makeQueue();
  return lockedEngine({
    runQuery: (sql, signal) =>
      inTurn(() => interruptible(connection, signal, () => queried(connection, sql))),
    prepare: (sql) =>
      inTurn(async () => {
        (await connection.prepare(sql)).destroySync();
      }),
    insert: (ipc, table, into, schema) =>
      inTurn(async () => {
        const path = join(room, 'incoming.parquet');
        await writeFile(path, parquetOf(joinedBytes(ipc)));
        const rows = `SELECT * FROM read_parquet(${literal(path)})`;
        const name = `${quoteName(schema)}.${quoteName(table)}`;
        await connection.run(
          into === 'new' ? `CREATE TABLE ${name} AS ${rows}` : `INSERT INTO ${name} BY NAME ${rows}`,
        );
        await rm(path);
      }),
    async close() {
      connection.closeSync();
      instance.closeSync();
      await rm(folder, { recursive: true, force: true });
    },
  });
}

/** Read again at once: quick rather than small. */
function parquetOf(ipc: Uint8Array): Uint8Array {
  const properties = new WriterPropertiesBuilder().setCompression(Compression.SNAPPY).build();
  return writeParquet(WasmTable.fromIPCStream(ipc), properties);
}

async function interruptible<T>(
  connection: DuckDBConnection,
  signal: AbortSignal | undefined,
  job: () => Promise<T>,
): Promise<T> {
  signal?.throwIfAborted();
  const stop = (): void => connection.interrupt();
  signal?.addEventListener('abort', stop);
  try {
    return await job();
  } catch (error) {
    signal?.throwIfAborted();
    throw error;
  } finally {
    signal?.removeEventListener('abort', stop);
  }
}

/** Chunk by chunk, so that a result never stands in memory twice. */
async function queried(connection: DuckDBConnection, sql: string): Promise<Table> {
  const result = await connection.stream(sql);
  const names = result.columnNames();
  const columns = result
    .columnTypes()
    .map((type, i): GrowingColumn => growingColumn(names[i] as string, type));
  let rowCount = 0;
  for (
    let chunk = await result.fetchChunk();
    chunk && chunk.rowCount > 0;
    chunk = await result.fetchChunk()
  ) {
    for (const [i, column] of columns.entries()) column.take(chunk, i);
    rowCount += chunk.rowCount;
  }
  return {
    rowCount,
    columns: Object.fromEntries(columns.map((column, i) => [names[i] as string, column.done()])),
  };
}
