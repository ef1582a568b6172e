import { MANY_ROWS } from '../core/let-go.ts';
import type { Table } from '../core/table.ts';
import { numbers, texts } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { literal } from '../engine/sql-text.ts';
import type { RelationOptions } from '../herd/foot-visit-sql.ts';
import { FOOT_ROW, HERD_CATALOG } from '../herd/herd-names.ts';
import { trimCycleSql } from '../herd/trim-cycle-sql.ts';

/**
 * From this many rows on the herd is kept compressed, about a tenth of the room, and built part by part: five million
 * rows would not stand uncompressed in the three gigabytes that the engine has. Compressing takes longer than loading
 * saves, so smaller herds are left as they are.
 */
const LARGE_ROWS = MANY_ROWS;

export const isLarge = (rowCount: number): boolean => rowCount > LARGE_ROWS;

/**
 * So many rows of a large herd stand uncompressed at once: the engine's memory never shrinks, and that of five million rows
 * built by 1,250,000 is three times what they take in the end.
 */
const ROWS_AT_ONCE = 250_000;

/** How many rows may stand uncompressed while a herd of so many is loaded. */
export const uncompressedRows = (rowCount: number): number => (isLarge(rowCount) ? ROWS_AT_ONCE : LARGE_ROWS);

/** A herd of so many rows that no result of all of them should stand in the engine beside it. */
export async function isLargeHerd(engine: Engine): Promise<boolean> {
  const rows = await engine.query(
    `SELECT estimated_size::DOUBLE AS n FROM duckdb_tables()
     WHERE database_name = ${literal(HERD_CATALOG)} AND table_name = 'foot_row' ORDER BY n DESC`,
  );
  return isLarge(numbers(rows, 'n')[0] ?? 0);
}

/** Has the engine compress what stands in the herd's database. */
const COMPRESS = `CHECKPOINT ${HERD_CATALOG}`;

/** Passes rows on to the engine and has it compress those that stand, each time there are so many more of them. */
export function compressing(
  engine: Engine,
  rowsAtOnce: number,
): (pieces: Iterable<Table>) => AsyncGenerator<Table, void> {
  let standing = 0;
  return async function* compressed(pieces) {
    for (const piece of pieces) {
      if (standing >= rowsAtOnce) {
        await engine.run(COMPRESS);
        standing = 0;
      }
      standing += piece.rowCount;
      yield piece;
    }
  };
}

/**
 * Trim cycles are built of about so many rows at a time: what the engine joins for them is let go of before the next.
 */
const SLICE_ROWS = 250_000;

/** Statements that build the trim cycles of a herd of so many foot rows, numbered by horse from 1. */
export async function cyclesSql(
  engine: Engine,
  options: RelationOptions,
  rowCount: number,
  { sliceRows = SLICE_ROWS, rowsAtOnce }: { readonly sliceRows?: number; readonly rowsAtOnce: number },
): Promise<string[]> {
  if (rowCount <= sliceRows) return trimCycleSql(options);
  const bounds = await engine.query(
    `SELECT DISTINCT horse_id FROM ${FOOT_ROW} WHERE row_no % ${sliceRows} = 0 ORDER BY horse_id`,
  );
  const horses = texts(bounds, 'horse_id').map((id) => literal(id));
  const slices = [null, ...horses].map((from, k) => {
    const to = horses[k];
    const above = from === null ? 'TRUE' : `horse_id >= ${from}`;
    return to === undefined ? above : `${above} AND horse_id < ${to}`;
  });
  if (rowCount <= rowsAtOnce) return trimCycleSql(options, slices);
  const slicesAtOnce = Math.max(1, Math.round(rowsAtOnce / sliceRows));
  return [
    COMPRESS,
    ...trimCycleSql(options, slices, (slice) => ((slice + 1) % slicesAtOnce === 0 ? [COMPRESS] : [])),
    COMPRESS,
  ];
}
