import type { Table } from '../core/table.ts';
import type { RowSort, RowSource } from './row-source.ts';

export const BLOCK_ROWS = 200;
const MOST_BLOCKS = 40;

export interface CachedRow {
  readonly table: Table;
  /** Row of `table`. */
  readonly at: number;
}

export interface RowCache {
  /** A row that is here; null while it is not. */
  get(row: number): CachedRow | null;
  /** Fetches what is missing of a stretch of rows. */
  want(first: number, end: number): Promise<void>;
}

/** Keeps the blocks of rows last seen. `changed` is called when one has arrived, `failed` when one cannot. */
export function createRowCache(
  source: RowSource,
  sort: RowSort | null,
  { changed, failed }: { changed(): void; failed(error: unknown): void },
): RowCache {
  const blocks = new Map<number, Table>();
  const coming = new Map<number, Promise<void>>();

  const fetchBlock = (block: number): Promise<void> => {
    const running = coming.get(block);
    if (running) return running;
    const fetching = source
      .fetch(block * BLOCK_ROWS, Math.min(BLOCK_ROWS, source.rowCount - block * BLOCK_ROWS), sort)
      .then((table) => {
        blocks.set(block, table);
        // A Map keeps the order of arrival: the oldest goes first.
        if (blocks.size > MOST_BLOCKS) blocks.delete(blocks.keys().next().value!);
        changed();
      })
      .catch(failed)
      .finally(() => coming.delete(block));
    coming.set(block, fetching);
    return fetching;
  };

  return {
    get(row) {
      const table = blocks.get(Math.floor(row / BLOCK_ROWS));
      const at = row % BLOCK_ROWS;
      return table && at < table.rowCount ? { table, at } : null;
    },
    async want(first, end) {
      const wanted: Promise<void>[] = [];
      for (let block = Math.floor(first / BLOCK_ROWS); block * BLOCK_ROWS < end; block += 1) {
        if (!blocks.has(block)) wanted.push(fetchBlock(block));
      }
      await Promise.all(wanted);
    },
  };
}
