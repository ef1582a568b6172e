import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { createDuckDB, NODE_RUNTIME, VoidLogger } from '@duckdb/duckdb-wasm/blocking';
import { ParquetFile, type RecordBatch } from 'parquet-wasm/esm';

const require = createRequire(import.meta.url);
/** Rows taken out of the file at a time, as the program does. */
const ROWS_AT_ONCE = 65_536;

/**
 * The job of bringing both files of a folder from Parquet into tables of the browser's engine by the same two libraries as
 * the program, with nothing looked at on the way: what reading could not go below. The codec must be initialised.
 */
export async function openUnchecked(
  folder: string,
): Promise<{ read: () => Promise<void>; close: () => void }> {
  const module = (name: string): string => require.resolve(`@duckdb/duckdb-wasm/dist/${name}`);
  const bundle = (kind: string) => ({
    mainModule: module(`duckdb-${kind}.wasm`),
    mainWorker: module(`duckdb-node-${kind}.worker.cjs`),
  });
  const bundles = { mvp: bundle('mvp'), eh: bundle('eh') };
  const database = await createDuckDB(bundles, new VoidLogger(), NODE_RUNTIME);
  await database.instantiate(() => undefined);
  const connection = database.connect();
  connection.query("SET checkpoint_threshold = '1TB'");
  return {
    async read() {
      for (const name of ['visits', 'horses']) {
        connection.query(`DROP TABLE IF EXISTS ${name}`);
        const bytes = new Uint8Array(readFileSync(join(folder, `${name}.parquet`)));
        const file = await ParquetFile.fromFile(new Blob([bytes]));
        const batches = (await file.stream({ batchSize: ROWS_AT_ONCE })).getReader();
        let isFirst = true;
        for (let next = await batches.read(); !next.done; next = await batches.read()) {
          const ipc = (next.value as RecordBatch).intoIPCStream();
          connection.insertArrowFromIPCStream(ipc, { name, create: isFirst });
          isFirst = false;
        }
        file.free();
      }
    },
    close: () => connection.close(),
  };
}
