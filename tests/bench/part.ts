/** One part of the bench at one size, in a process of its own: its memory is its own, and its failure too. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { DuckDBInstance } from '@duckdb/node-api';
import { initParquet } from '../../src/engine/parquet.ts';
import { BROWSER_PIECES, measureBrowser } from './browser.ts';
import { FITS } from './estimator-fits.ts';
import { measureEstimators } from './estimators.ts';
import { herdFiles, herdSize } from './herds.ts';
import { INTAKE_PIECES, measureIntake } from './intake.ts';
import { shippedPages } from './page-desk.ts';
import { measurePages } from './pages.ts';
import { measureRelations, RELATION_PIECES } from './relations.ts';
import { commit, keepResult, type Measured, machine, type Part } from './results.ts';

interface Measure {
  /** What can be measured by itself. */
  readonly pieces: readonly string[];
  readonly run: (folder: string, pieces: readonly string[]) => Promise<Measured>;
}

const MEASURES: Readonly<Record<Part, Measure>> = {
  intake: { pieces: INTAKE_PIECES, run: measureIntake },
  relations: { pieces: RELATION_PIECES, run: measureRelations },
  pages: { pieces: shippedPages().map(({ id }) => id), run: measurePages },
  estimators: { pieces: Object.keys(FITS), run: (_, pieces) => measureEstimators(pieces) },
  browser: { pieces: BROWSER_PIECES, run: measureBrowser },
};

const [, , part, rowsText, ofText = ''] = process.argv;
const rows = Number(rowsText);
const { pieces: all, run } = MEASURES[part as Part];
const pieces = ofText === '' ? all : ofText.split(',');
const unknown = pieces.find((piece) => !all.includes(piece));
if (unknown !== undefined) throw new Error(`--of must name some of ${all.join(', ')}: ${unknown}`);
const require = createRequire(import.meta.url);
await initParquet(readFileSync(require.resolve('parquet-wasm/esm/parquet_wasm_bg.wasm')));
const folder = await herdFiles(rows);
const measured = await run(folder, pieces);
keepResult({
  part: part as Part,
  ...(pieces.length < all.length ? { of: pieces } : {}),
  rows,
  ...(part === 'browser' ? { herd: await herdSize(folder) } : {}),
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
