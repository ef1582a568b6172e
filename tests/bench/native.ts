import { cpus } from 'node:os';
import { join } from 'node:path';
import { type DuckDBConnection, DuckDBInstance } from '@duckdb/node-api';
import { literal } from '../../src/engine/sql-text.ts';
import { sqlType } from '../../src/herd/ddl.ts';
import { FOOT_VISIT, HORSE_COLUMNS } from '../../src/herd/dictionary.ts';

export type FileKind = 'csv' | 'parquet';
const FILES = [
  { file: 'visits', table: 'visit', described: FOOT_VISIT },
  { file: 'horses', table: 'horse', described: HORSE_COLUMNS },
] as const;

/** Native DuckDB on as many threads as the machine has cores. */
export async function openNative(): Promise<DuckDBConnection> {
  const instance = await DuckDBInstance.create(':memory:', { threads: String(cpus().length) });
  return instance.connect();
}

/** The job of reading both files into tables of the dictionary's types, nothing checked but the casts. */
export async function nativeReader(
  native: DuckDBConnection,
  folder: string,
  kind: FileKind,
): Promise<() => Promise<void>> {
  const statements: string[] = [];
  for (const { file, table, described } of FILES) {
    const path = literal(join(folder, `${file}.${kind}`));
    const any = kind === 'csv' ? `read_csv(${path}, all_varchar = true)` : `read_parquet(${path})`;
    const names = await columnsOf(native, any);
    const types = new Map<string, string>(described.map(({ name, kind: of }) => [name, sqlType(of)]));
    const typeOf = (name: string): string => types.get(name) ?? 'VARCHAR';
    const typed = names.map((name) => `'${name}': '${typeOf(name)}'`).join(', ');
    const select =
      kind === 'csv'
        ? `SELECT * FROM read_csv(${path}, header = true, auto_detect = false, delim = ',', quote = '"', escape = '"', columns = {${typed}})`
        : `SELECT ${names.map((name) => `${name}::${typeOf(name)} AS ${name}`).join(', ')} FROM ${any}`;
    statements.push(`CREATE OR REPLACE TABLE memory.main.${table} AS ${select}`);
  }
  return async () => {
    for (const statement of statements) await native.run(statement);
  };
}

async function columnsOf(native: DuckDBConnection, relation: string): Promise<string[]> {
  const reader = await native.runAndReadAll(`DESCRIBE SELECT * FROM ${relation}`);
  return reader.getRows().map(([name]) => String(name));
}
