import type { ColumnDescription, ColumnKind } from './column.ts';
import { FOOT_VISIT, HORSE_COLUMNS } from './dictionary.ts';

const SQL_TYPES: Record<ColumnKind, string> = {
  text: 'VARCHAR',
  level: 'VARCHAR',
  day: 'DATE',
  boolean: 'BOOLEAN',
  length: 'DOUBLE',
  angle: 'DOUBLE',
  mass: 'DOUBLE',
  grade: 'INTEGER',
  year: 'INTEGER',
};

/** SQL type of a kind of column. */
export function sqlType(kind: ColumnKind): string {
  return SQL_TYPES[kind];
}

/** Where each admitted row came from; the last columns of both tables. */
export const ORIGIN_COLUMNS = ['source_file', 'source_line'] as const;

function createTable(name: string, columns: readonly ColumnDescription[]): string {
  const lines = columns.map((c) => `  ${c.name} ${SQL_TYPES[c.kind]}${c.required ? ' NOT NULL' : ''}`);
  return `CREATE TABLE ${name} (\n${[...lines, '  source_file VARCHAR', '  source_line INTEGER'].join(',\n')}\n)`;
}

/** `CREATE TABLE` for the admitted foot rows. */
export const FOOT_VISIT_DDL: string = createTable('foot_visit', FOOT_VISIT);

/** `CREATE TABLE` for the horses file's rows. */
export const HORSE_DDL: string = createTable('horse', HORSE_COLUMNS);
