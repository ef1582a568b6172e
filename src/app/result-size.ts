import { numbers, type Table } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { quoteName } from '../engine/sql-text.ts';

/** Far more than anyone reads, and far less than a tab has room for. A page may come from anyone. */
const MOST_TEXT_BYTES = 16_000_000;

/** Rows of which every value is measured as text in the statement that hands them out: of more it takes too long. */
const FEW_ROWS = 1024;

/**
 * The first rows of a table that has `of` of them. Throws where these, as many as a page shows, hold more text than a tab
 * can.
 */
export async function firstRows(
  engine: Engine,
  table: string,
  { most, of = Number.POSITIVE_INFINITY }: { readonly most: number; readonly of: number | undefined },
  signal: AbortSignal,
): Promise<Table> {
  if (of <= FEW_ROWS) {
    const bytes = `SELECT coalesce(sum(strlen(row(*COLUMNS(*))::VARCHAR)), 0) FROM ${table}`;
    const rows = await engine.query(`SELECT * FROM ${table} WHERE (${bytes}) <= ${MOST_TEXT_BYTES}`);
    if (rows.rowCount === of) return rows;
  }
  await refuseHugeTexts(engine, table, most, signal);
  return engine.query(`SELECT * FROM ${table} LIMIT ${most}`, signal);
}

async function refuseHugeTexts(
  engine: Engine,
  table: string,
  rows: number,
  signal: AbortSignal,
): Promise<void> {
  const { columns } = await engine.query(`SELECT * FROM ${table} LIMIT 0`, signal);
  const sizes = Object.entries(columns).flatMap(([name, { type }]) =>
    type === 'text' ? [`coalesce(sum(strlen(${quoteName(name)}::VARCHAR)), 0)`] : [],
  );
  if (sizes.length === 0) return;
  const sum = `SELECT (${sizes.join(' + ')})::DOUBLE AS bytes FROM (SELECT * FROM ${table} LIMIT ${rows})`;
  const bytes = numbers(await engine.query(sum, signal), 'bytes')[0] ?? 0;
  if (bytes > MOST_TEXT_BYTES) {
    const limit = `${MOST_TEXT_BYTES / 1e6} MB`;
    throw new Error(`query must give less than ${limit} of text to show: ${Math.ceil(bytes / 1e6)} MB`);
  }
}
