/** One part of the bench at one size, in a process of its own: its memory is its own, and its failure too. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { DuckDBInstance } from '@duckdb/node-api';
import { initParquet } from '../../src/engine/parquet.ts';
import { measureBrowser } from './browser.ts';
import { measureEstimators } from './estimators.ts';
import { herdFiles } from './herds.ts';
import { measureIntake } from './intake.ts';
import { measurePages } from './pages.ts';
import { measureRelations } from './relations.ts';
import { commit, keepResult, type Measurement, machine, type Part } from './results.ts';

interface Measured {
  readonly measurements: readonly Measurement[];
  readonly notes?: readonly string[];
  readonly versions?: Readonly<Record<string, string>>;
}

const MEASURES: Readonly<Record<Part, (folder: string, rows: number) => Promise<Measured>>> = {
  intake: async (folder) => ({ measurements: await measureIntake(folder) }),
  relations: async (folder) => ({ measurements: await measureRelations(folder) }),
  pages: (folder) => measurePages(folder),
  estimators: () => measureEstimators(),
  browser: (folder) => measureBrowser(folder),
};

const [, , part, rowsText] = process.argv;
const rows = Number(rowsText);
const require = createRequire(import.meta.url);
await initParquet(readFileSync(require.resolve('parquet-wasm/esm/parquet_wasm_bg.wasm')));
const measured = await MEASURES[part as Part](await herdFiles(rows), rows);
keepResult({
  part: part as Part,
  rows,
  commit: commit(),
  at: new Date().toISOString(),
  machine: machine(),
  versions: { Node: process.version, 'native DuckDB': await nativeVersion(), ...measured.versions },
  measurements: measured.measurements,
  notes: measured.notes ?? [],
});
// Libraries keep handles open that would hold the process.
process.exit(0);

async function nativeVersion(): Promise<string> {
  const connection = await (await DuckDBInstance.create(':memory:')).connect();
  const reader = await connection.runAndReadAll('SELECT version()');
  return String(reader.getRows()[0]?.[0]);
}
