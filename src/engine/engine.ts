import type { Table } from '../core/table.ts';

/**
 * All that the rest of the program knows of the database. Three makers: `openBrowserEngine` (a worker of its own) and
 * `openNodeEngine` (tests, batch) run the same wasm build, so the same SQL; `openNativeEngine` (batch) the same version.
 * Every method throws with the engine's own message; an aborted signal rejects with its reason.
 */
export interface Engine {
  /** Works on what it was sent while whoever sent it does something else: so it is well to ask before it is wanted. */
  readonly worksAhead?: true;
  /** Runs statements for their effect. */
  run(sql: string, signal?: AbortSignal): Promise<void>;
  /** One SELECT as a table: integers and decimals as numbers, DATE as days, other types as text. */
  query(sql: string, signal?: AbortSignal): Promise<Table>;
  /**
   * One SELECT, its table handed to `take` piece by piece, each let go of before the next: for whoever keeps less of it than
   * it is. Left out where an answer comes whole all the same.
   */
  readonly inPieces?: (sql: string, take: (piece: Table) => void, signal?: AbortSignal) => Promise<void>;
  /** The answer of one SELECT as Arrow IPC streams of its pieces, for another thread to make a table of. */
  bytes(sql: string): Promise<Uint8Array | Uint8Array[]>;
  /** Checks one statement without running it; several statements are refused. */
  check(sql: string): Promise<void>;
  /** Creates table `name` (an SQL name, schema allowed), replacing one that is there. */
  write(name: string, table: Table): Promise<void>;
  /** Appends rows to a table of the same columns. */
  append(name: string, table: Table): Promise<void>;
  /**
   * Creates table `name`, a plain word, in the schema in use from pieces of the same columns, each let go of before the
   * next is asked for; a table of this name that is there is replaced. `types` are SQL types of all its columns in their
   * order, where they are to be others than those of the pieces.
   */
  fill(
    name: string,
    pieces: Iterable<Table> | AsyncIterable<Table>,
    types?: Readonly<Record<string, string>>,
  ): Promise<void>;
  version(): Promise<string>;
  close(): Promise<void>;
}
