import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { DuckDBConnection } from '@duckdb/node-api';
import { numbers, rowsOf, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { writeParquet } from '../../src/engine/parquet.ts';
import { literal, quoteName } from '../../src/engine/sql-text.ts';
import { HERD, HERD_CATALOG } from '../../src/herd/herd-names.ts';
import type { Statement } from './recorder.ts';

/** Rows copied at a time: all of a large herd would not fit as JavaScript's strings. */
const PIECE_ROWS = 500_000;

/** Makes what later statements read, and needs nothing from JavaScript. */
export const isLaying = ({ kind, sql }: Statement): boolean =>
  kind === 'run' &&
  /^\s*(CREATE|INSERT|DROP|ATTACH|USE)\b/.test(sql) &&
  !/\b(incoming|staging_\d+)\b/.test(sql);

/**
 * The herd as `engine` holds it, in native DuckDB: tables that were written from JavaScript are copied row by row, in
 * their order and with their types; what SQL made of them is made by the same SQL. `statements` are all that loaded it.
 */
export async function copyHerd(
  engine: Engine,
  native: DuckDBConnection,
  statements: readonly Statement[],
): Promise<void> {
  const laying = statements.filter(isLaying).map(({ sql }) => sql);
  for (const sql of laying) if (/^\s*(ATTACH|USE)\b/.test(sql)) await native.run(sql);
  const made = (name: string): boolean =>
    laying.some((sql) => new RegExp(`^\\s*CREATE OR REPLACE TABLE (\\S+\\.)?${name}\\b`).test(sql));
  const tables = await engine.query(
    `SELECT table_name FROM duckdb_tables() WHERE database_name = ${literal(HERD_CATALOG)} ORDER BY 1`,
  );
  const folder = mkdtempSync(join(tmpdir(), 'growout-bench-'));
  try {
    for (const name of texts(tables, 'table_name').map(String)) {
      if (!made(name)) await copyTable(engine, native, name, join(folder, 'piece.parquet'));
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  for (const sql of laying) await native.run(sql);
}

async function copyTable(
  engine: Engine,
  native: DuckDBConnection,
  name: string,
  path: string,
): Promise<void> {
  const table = `${HERD}.${quoteName(name)}`;
  const columns = rowsOf(await engine.query(`DESCRIBE ${table}`))
    .map(({ column_name, column_type }) => `${quoteName(String(column_name))} ${column_type}`)
    .join(', ');
  await native.run(`CREATE OR REPLACE TABLE ${table} (${columns})`);
  const total = numbers(await engine.query(`SELECT count(*) AS n FROM ${table}`), 'n')[0]!;
  for (let from = 0; from < total; from += PIECE_ROWS) {
    const piece = await engine.query(
      `SELECT * FROM ${table} WHERE rowid >= ${from} AND rowid < ${from + PIECE_ROWS} ORDER BY rowid`,
    );
    writeFileSync(path, await writeParquet(piece));
    await native.run(`INSERT INTO ${table} BY NAME SELECT * FROM read_parquet(${literal(path)})`);
  }
}
