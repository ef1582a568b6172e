import { existsSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { writeBenchmark } from '../../data/benchmark-files.ts';
import { type FootRow, HORSE_COLUMNS, VISIT_COLUMNS } from '../../data/foot-row.ts';
import { herd } from '../../data/herd.ts';
import type { HorseRow } from '../../data/horses.ts';
import { parquetBytes, parquetStream } from '../../data/write-parquet.ts';
import { type CivilDay, dayFromIso } from '../../src/core/civil-day.ts';
import { literal } from '../../src/engine/sql-text.ts';
import type { HerdSize } from './results.ts';

/** The day on which the herds of the bench are looked at. */
export const TODAY: CivilDay = dayFromIso('2026-11-25')!;

/** The folder of a made herd of about so many foot rows; made where it is not there yet. */
export async function herdFiles(rows: number): Promise<string> {
  const folder = join('data/generated', String(rows));
  if (!existsSync(join(folder, 'horses.parquet'))) {
    console.log(`making ${rows.toLocaleString('en-GB')} foot rows in ${folder}`);
    await writeBenchmark(rows, folder);
  }
  return folder;
}

export async function herdSize(folder: string): Promise<HerdSize> {
  const connection = await (await DuckDBInstance.create(':memory:')).connect();
  const reader = await connection.runAndReadAll(
    `SELECT count(*)::DOUBLE, sum(feet)::DOUBLE, sum(days)::DOUBLE / 365.25 FROM (
       SELECT count(DISTINCT foot) AS feet, max(visit_date::DATE) - min(visit_date::DATE) AS days
       FROM read_parquet(${literal(join(folder, 'visits.parquet'))}) GROUP BY horse_id)`,
  );
  const [horses, feet, horseYears] = reader.getRows()[0]!.map(Number);
  return { horses: horses!, feet: feet!, horseYears: Math.round(horseYears!) };
}

/** The folder of a made herd of so many horses, each record cut to its first visits, as Parquet. */
export async function shortRecords(horses: number, visits: number): Promise<string> {
  const folder = join('data/generated', `${horses}-horses-${visits}-visits`);
  if (existsSync(join(folder, 'horses.parquet'))) return folder;
  console.log(`making ${horses} horses with ${visits} visits each in ${folder}`);
  mkdirSync(folder, { recursive: true });
  const made: HorseRow[] = [];
  async function* batches(): AsyncGenerator<readonly FootRow[]> {
    let batch: FootRow[] = [];
    for (const { horse, rows } of herd(7)) {
      made.push(horse.row);
      const days = [...new Set(rows.map((row) => row.visit_date))].slice(0, visits);
      batch.push(...rows.filter((row) => days.includes(row.visit_date)));
      if (made.length % 1000 === 0 || made.length === horses) {
        yield batch;
        batch = [];
      }
      if (made.length === horses) return;
    }
  }
  const pieces: Uint8Array[] = [];
  for await (const bytes of await parquetStream(batches(), VISIT_COLUMNS)) pieces.push(bytes);
  writeFileSync(join(folder, 'visits.parquet'), Buffer.concat(pieces));
  writeFileSync(join(folder, 'horses.parquet'), parquetBytes(made, HORSE_COLUMNS));
  return folder;
}
