import { createRequire } from 'node:module';
import { createDuckDB, NODE_RUNTIME, VoidLogger } from '@duckdb/duckdb-wasm/blocking';
import type { Engine } from './engine.ts';
import { joiningBytes } from './joined-bytes.ts';
import { lockedEngine } from './sql-engine.ts';

const require = createRequire(import.meta.url);

/** The engine in Node: the browser's own wasm build, blocking. For tests and the batch command. */
export async function openNodeEngine(): Promise<Engine> {
  const module = (name: string): string => require.resolve(`@duckdb/duckdb-wasm/dist/${name}`);
  const bundles = {
    mvp: { mainModule: module('duckdb-mvp.wasm'), mainWorker: module('duckdb-node-mvp.worker.cjs') },
    eh: { mainModule: module('duckdb-eh.wasm'), mainWorker: module('duckdb-node-eh.worker.cjs') },
  };
  const database = await createDuckDB(bundles, new VoidLogger(), NODE_RUNTIME);
  await database.instantiate(() => undefined);
  const connection = database.connect();
  const joined = joiningBytes();
  return lockedEngine({
    async runQuery(sql, signal) {
      signal?.throwIfAborted();
      return connection.useUnsafe((bindings, id) => bindings.runQuery(id, sql));
    },
    async prepare(sql) {
      connection.useUnsafe((bindings, id) => bindings.closePrepared(id, bindings.createPrepared(id, sql)));
    },
    async insert(ipc, table, into, schema) {
      const options = { name: table, schema, create: into === 'new' };
      connection.insertArrowFromIPCStream(joined(ipc), options);
    },
    async close() {
      connection.close();
    },
  });
}
