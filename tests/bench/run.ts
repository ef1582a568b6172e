/**
 * `npm run bench [-- --rows 5000000]`: times beside what they are compared with, both measured in turn in one run.
 * Without --rows at 100,000 and 1,000,000 foot rows. Writes docs/benchmarks.md.
 */
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { cpus, totalmem } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { DuckDBInstance } from '@duckdb/node-api';
import { writeBenchmark } from '../../data/benchmark-files.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { initParquet } from '../../src/engine/parquet.ts';
import { intakePairs } from './intake.ts';
import { inMs } from './measure.ts';
import { nativeTables, type Pair, relationPairs } from './relations.ts';

const { values } = parseArgs({ options: { rows: { type: 'string', multiple: true } } });
const sizes = (values.rows ?? ['100000', '1000000']).map(Number);

async function dataOf(rows: number): Promise<string> {
  const folder = join('data/generated', String(rows));
  if (!existsSync(join(folder, 'horses.parquet'))) {
    console.log(`making ${rows} rows in ${folder}`);
    await writeBenchmark(rows, folder);
  }
  return folder;
}

function table(title: string, pairs: readonly Pair[]): string {
  const lines = pairs.map(
    ({ what, ours, native }) =>
      `| ${what} | ${inMs(ours)} | ${inMs(native)} | ${(ours.median / native.median).toFixed(1)} |`,
  );
  return [
    `### ${title}`,
    '',
    '| what | here, ms | native DuckDB, ms | ratio |',
    '|---|---|---|---|',
    ...lines,
    '',
  ].join('\n');
}

const wasm = 'node_modules/parquet-wasm/esm/parquet_wasm_bg.wasm';
await initParquet(readFileSync(wasm));
const parts: string[] = [];
for (const rows of sizes) {
  const folder = await dataOf(rows);
  const engine = await openNodeEngine();
  const instance = await DuckDBInstance.create(':memory:', { threads: String(cpus().length) });
  const native = await instance.connect();
  const intake = await intakePairs(engine, native, folder);
  parts.push(table(`${rows.toLocaleString('en-GB')} foot rows: intake`, intake));
  console.log(parts.at(-1));
  await nativeTables(engine, native, folder);
  parts.push(
    table(
      `${rows.toLocaleString('en-GB')} foot rows: relations, the same SQL`,
      await relationPairs(engine, native),
    ),
  );
  console.log(parts.at(-1));
  await engine.close();
}
const commit = execFileSync('git', ['rev-parse', '--short', 'HEAD'], { encoding: 'utf8' }).trim();
console.log(
  `${cpus().length} × ${cpus()[0]?.model}, ${(totalmem() / 2 ** 30).toFixed(0)} GB, Node ${process.version}, commit ${commit}`,
);
