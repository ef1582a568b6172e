import type { Table } from '../core/table.ts';

export type Param = string | number | boolean | null;

export interface QueryOptions {
  readonly params?: readonly Param[];
  readonly signal?: AbortSignal;
}

/**
 * All that the rest of the program knows of the database. Two makers: `openBrowserEngine` (own worker)
 * and `openNodeEngine` (tests, batch); both run the same wasm build, so the same SQL.
 */
export interface Engine {
  /** Runs statements for their effect. Throws with the engine's message. */
  run(sql: string, options?: QueryOptions): Promise<void>;
  /** One SELECT as a table: integers and decimals as numbers, DATE as days, everything else as text. */
  query(sql: string, options?: QueryOptions): Promise<Table>;
  /** Checks one statement without running it; throws with the engine's message. */
  check(sql: string): Promise<void>;
  /** Creates `name` (replacing it) from a table. */
  write(name: string, table: Table): Promise<void>;
  /** Appends to an existing table of the same columns. */
  append(name: string, table: Table): Promise<void>;
  version(): Promise<string>;
  close(): Promise<void>;
}

/** Quotes an SQL identifier (ISO/IEC 9075 delimited identifier). */
export function quoteName(name: string): string {
  return `"${name.replaceAll('"', '""')}"`;
}

/** Quotes an SQL character string literal. */
export function quoteText(text: string): string {
  return `'${text.replaceAll("'", "''")}'`;
}
