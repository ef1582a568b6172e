import { once } from 'node:events';
import { createWriteStream, mkdirSync, type WriteStream } from 'node:fs';
import { join } from 'node:path';
import { finished } from 'node:stream/promises';
import { type Columns, type FootRow, HORSE_COLUMNS, VISIT_COLUMNS } from './foot-row.ts';
import { herd } from './herd.ts';
import type { HorseRow } from './horses.ts';
import { csvHeader, csvLine, textCells } from './write-csv.ts';
import { parquetBytes, parquetStream } from './write-parquet.ts';

const BATCH_ROWS = 50_000;

/**
 * A herd of about `rows` foot rows (whole horses) in `folder`, horse by horse, never held whole:
 * visits.csv, visits.parquet, horses.csv, horses.parquet. No spoilt rows.
 */
export async function writeBenchmark(
  rows: number,
  folder: string,
): Promise<{ rows: number; horses: number }> {
  mkdirSync(folder, { recursive: true });
  const csv = createWriteStream(join(folder, 'visits.csv'));
  const parquet = createWriteStream(join(folder, 'visits.parquet'));
  const horses: HorseRow[] = [];
  let written = 0;

  async function* batches(): AsyncGenerator<readonly FootRow[]> {
    await write(csv, csvHeader(VISIT_COLUMNS));
    let batch: FootRow[] = [];
    for (const history of herd(7)) {
      horses.push(history.horse.row);
      batch.push(...history.rows);
      written += history.rows.length;
      const done = written >= rows;
      if (batch.length >= BATCH_ROWS || done) {
        await write(csv, lines(batch, VISIT_COLUMNS));
        yield batch;
        batch = [];
      }
      if (done) return;
    }
  }

  for await (const bytes of await parquetStream(batches(), VISIT_COLUMNS)) await write(parquet, bytes);
  const horsesCsv = createWriteStream(join(folder, 'horses.csv'));
  await write(horsesCsv, csvHeader(HORSE_COLUMNS) + lines(horses, HORSE_COLUMNS));
  const horsesParquet = createWriteStream(join(folder, 'horses.parquet'));
  await write(horsesParquet, parquetBytes(horses, HORSE_COLUMNS));
  for (const stream of [csv, parquet, horsesCsv, horsesParquet]) {
    stream.end();
    await finished(stream);
  }
  return { rows: written, horses: horses.length };
}

function lines(rows: readonly object[], columns: Columns): string {
  return rows.map((row) => csvLine(textCells(row, columns))).join('');
}

/** Waits while the disk is behind, so that a large herd does not pile up in memory. */
async function write(stream: WriteStream, chunk: string | Uint8Array): Promise<void> {
  if (!stream.write(chunk)) await once(stream, 'drain');
}
