import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { tableFromIPC } from '@uwdata/flechette';
import { readParquet } from 'parquet-wasm';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { writeBenchmark } from '../../data/benchmark-files.ts';
import { readCsv } from './read-demo.ts';

const folder = mkdtempSync(join(tmpdir(), 'herd-'));
let made: { rows: number; horses: number };
const csv = (name: string) => readCsv(readFileSync(join(folder, name), 'utf8')).records;

beforeAll(async () => {
  // Enough for a second round of the yards and a second batch.
  made = await writeBenchmark(60_000, folder);
});
afterAll(() => rmSync(folder, { recursive: true }));

test('it stops at the first whole horse past the rows asked for', () => {
  expect(made.rows).toBeGreaterThanOrEqual(60_000);
  // No horse has more than 60 visits of four feet.
  expect(made.rows).toBeLessThan(60_000 + 240);
});

test('CSV and Parquet hold the same rows, and the horses file its horses', () => {
  const rows = csv('visits.csv');
  expect(rows.length).toBe(made.rows);
  const parquet = tableFromIPC(readParquet(readFileSync(join(folder, 'visits.parquet'))).intoIPCStream());
  expect(parquet.numRows).toBe(made.rows);
  const ids = Array.from(parquet.getChild('horse_id').toArray());
  expect(ids).toEqual(rows.map(({ cells }) => cells.horse_id));
  const horses = csv('horses.csv').map(({ cells }) => cells.horse_id);
  expect(horses.length).toBe(made.horses);
  expect(new Set(ids)).toEqual(new Set(horses));
});

test('yards beyond the twelve get names of their own', () => {
  const yards = new Set(csv('horses.csv').map(({ cells }) => cells.client_id));
  expect(yards).toContain('Ouzelford');
  expect(yards).toContain('Ouzelford 2');
});
