import type { Table } from '../core/table.ts';
import { decodeArrow, encodeForEngine, partsForEngine } from './arrow.ts';
import type { Engine } from './engine.ts';
import { quoteName } from './sql-text.ts';

/** What differs between the browser's worker, Node and the native engine: Arrow bytes in, one call at a time. */
interface Driver {
  /** Arrow bytes, or a table already. */
  runQuery(sql: string, signal?: AbortSignal): Promise<Uint8Array | Uint8Array[] | Table>;
  /** The same as Arrow bytes in pieces, each handed over before the next is asked for. */
  readonly runInPieces?: (
    sql: string,
    take: (pieces: Uint8Array[]) => void,
    signal?: AbortSignal,
  ) => Promise<void>;
  prepare(sql: string): Promise<void>;
  /**
   * An Arrow IPC stream in parts, into a table of the schema named, in the database in use: one that it makes, or one of
   * the same columns. The parts may be a table's own memory, and stay as they are.
   */
  insert(ipc: readonly Uint8Array[], table: string, into: 'new' | 'old', schema: string): Promise<void>;
  close(): Promise<void>;
}

/**
 * Nothing may reach outside from SQL: no extensions fetched, no files or addresses opened, and the
 * settings locked, in this order (the lock must come last).
 */
const LOCK = [
  // The herd is compressed when it is asked to be: the engine would do so in the middle of loading, for seconds.
  "SET checkpoint_threshold = '1TB'",
  'SET autoinstall_known_extensions = false',
  'SET autoload_known_extensions = false',
  'SET enable_external_access = false',
  'SET lock_configuration = true',
];

/** `"schema"."table"`, both quoted. */
const IN_SCHEMA = /^"((?:[^"]|"")+)"\."((?:[^"]|"")+)"$/;
const unquoted = (name: string): string => name.replaceAll('""', '"');

const tableOf = (result: Uint8Array | Uint8Array[] | Table): Table =>
  'rowCount' in result ? result : decodeArrow(result);

export async function lockedEngine(driver: Driver): Promise<Engine> {
  for (const statement of LOCK) await driver.runQuery(statement);
  let staging = 0;
  const { runInPieces } = driver;

  async function stage(table: Table, use: (stagingName: string) => string): Promise<void> {
    const name = `staging_${++staging}`;
    await driver.insert(partsForEngine(table), name, 'new', 'main');
    try {
      await driver.runQuery(use(`main.${quoteName(name)}`));
    } finally {
      await driver.runQuery(`DROP TABLE IF EXISTS main.${quoteName(name)}`);
    }
  }

  return {
    async run(sql, signal) {
      await driver.runQuery(sql, signal);
    },
    async query(sql, signal) {
      return tableOf(await driver.runQuery(sql, signal));
    },
    async bytes(sql) {
      const result = await driver.runQuery(sql);
      return 'rowCount' in result ? encodeForEngine(result) : result;
    },
    ...(runInPieces && {
      inPieces: (sql, take, signal) => runInPieces(sql, (pieces) => take(decodeArrow(pieces)), signal),
    }),
    check: (sql) => driver.prepare(sql),
    async write(name, table) {
      const [, schema, plain] = IN_SCHEMA.exec(name) ?? [];
      if (schema !== undefined && plain !== undefined) {
        // Statements are done in the order in which they were sent: no need to wait between the two.
        const dropped = driver.runQuery(`DROP TABLE IF EXISTS ${name}`);
        const into = driver.insert(partsForEngine(table), unquoted(plain), 'new', unquoted(schema));
        await Promise.all([dropped, into]);
        return;
      }
      if (!/^[a-z_]+$/.test(name)) {
        await stage(table, (from) => `CREATE OR REPLACE TABLE ${name} AS SELECT * FROM ${from}`);
        return;
      }
      // A table of the schema in use needs no copy: what was brought in takes its place.
      await driver.runQuery(`DROP TABLE IF EXISTS main.${quoteName(name)}`);
      await stage(table, (from) => `ALTER TABLE ${from} RENAME TO ${quoteName(name)}`);
    },
    append: (name, table) => stage(table, (from) => `INSERT INTO ${name} BY NAME SELECT * FROM ${from}`),
    async fill(name, pieces, types) {
      const table = `main.${quoteName(name)}`;
      await driver.runQuery(`DROP TABLE IF EXISTS ${table}`);
      if (types) {
        const columns = Object.entries(types).map(([column, type]) => `${quoteName(column)} ${type}`);
        await driver.runQuery(`CREATE TABLE ${table} (${columns.join(', ')})`);
      }
      let into: 'new' | 'old' = types ? 'old' : 'new';
      let inserted: Promise<void> = Promise.resolve();
      for await (const piece of pieces) {
        // The next piece is made while the engine, in a worker of its own, takes in the last.
        const ipc = partsForEngine(piece);
        await inserted;
        inserted = driver.insert(ipc, name, into, 'main');
        inserted.catch(() => undefined);
        into = 'old';
      }
      await inserted;
    },
    async version() {
      const table = tableOf(await driver.runQuery('SELECT version() AS version'));
      const column = table.columns.version;
      return column?.type === 'text' ? (column.values[0] ?? '') : '';
    },
    close: () => driver.close(),
  };
}
