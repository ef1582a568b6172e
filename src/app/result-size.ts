import { numbers } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { quoteName } from '../engine/sql-text.ts';

/** Far more than anyone reads, and far less than a tab has room for. A page may come from anyone. */
const MOST_TEXT_BYTES = 16_000_000;

/** Throws where the first rows of a table, as many as a page shows, hold more text than a tab can. */
export async function refuseHugeTexts(
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
