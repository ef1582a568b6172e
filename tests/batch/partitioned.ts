import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import Papa from 'papaparse';
import { makeTable, textColumn } from '../../src/core/table.ts';
import { initParquet, writeParquet } from '../../src/engine/parquet.ts';
import type { Row } from './read-results.ts';

export const rowsOfCsv = (path: string): Row[] =>
  Papa.parse<Row>(readFileSync(path, 'utf8'), { header: true, skipEmptyLines: true }).data;

/** Writes rows as Parquet into folders that `place` names for each (`practice=A/year=2024`), every cell as text. */
export async function writePartitioned(
  folder: string,
  rows: readonly Row[],
  place: (row: Row) => string,
): Promise<void> {
  const wasm = createRequire(import.meta.url).resolve('parquet-wasm/esm/parquet_wasm_bg.wasm');
  await initParquet(readFileSync(wasm));
  const names = Object.keys(rows[0] ?? {});
  const places = new Map<string, Row[]>();
  for (const row of rows) places.set(place(row), [...(places.get(place(row)) ?? []), row]);
  for (const [name, of] of places) {
    const path = join(folder, name, 'part-0.parquet');
    mkdirSync(dirname(path), { recursive: true });
    const columns = names.map((n) => [n, textColumn(of.map((row) => row[n] || null))]);
    writeFileSync(path, await writeParquet(makeTable(Object.fromEntries(columns))));
  }
}
