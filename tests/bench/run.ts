/**
 * `npm run bench [-- --rows 5000000] [--only intake,pages] [--of growth,clients]`: times beside what they are compared
 * with, both measured in turn in one run. Without --rows at 100,000 and 1,000,000 foot rows; --rows can be given several
 * times. --of names pieces of one part: pages, estimators, kinds of files. Results are kept in docs/benchmarks.json, so that
 * parts and pieces run at different times make one report: docs/benchmarks.md, and what docs/scale.md has of it. With
 * `--only ''` nothing is measured and they are written again.
 */
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { writeDocuments } from './documents.ts';
import { PARTS, type Part } from './results.ts';

const { values } = parseArgs({
  options: {
    rows: { type: 'string', multiple: true },
    only: { type: 'string', default: PARTS.join(',') },
    of: { type: 'string', default: '' },
  },
});
const sizes = (values.rows ?? ['100000', '1000000']).map(Number);
const badSize = sizes.find((rows) => !Number.isInteger(rows) || rows < 1);
if (badSize !== undefined) throw new Error(`--rows must be a whole number above 0: ${badSize}`);
const parts = values.only.split(',').filter((name) => name !== '') as Part[];
if (values.of !== '' && parts.length !== 1) throw new Error('--of must come with one part: --only');
const unknown = parts.find((part) => !PARTS.includes(part));
if (unknown !== undefined) throw new Error(`--only must name ${PARTS.join(', ')}: ${unknown}`);

/** A herd of five million rows does not fit into Node's usual memory. */
const MEMORY_MB = 12_000;
const tsx = join('node_modules', 'tsx', 'dist', 'cli.mjs');
const failed: string[] = [];
for (const [k, rows] of sizes.entries()) {
  for (const part of parts) {
    // The estimators have a herd of their own, whatever the size of the others.
    if (part === 'estimators' && k > 0) continue;
    const began = performance.now();
    console.log(`${part}, ${rows.toLocaleString('en-GB')} foot rows`);
    const { status } = spawnSync(
      process.execPath,
      [`--max-old-space-size=${MEMORY_MB}`, tsx, 'tests/bench/part.ts', part, String(rows), values.of],
      { stdio: 'inherit' },
    );
    if (status !== 0) failed.push(`${part}, ${rows.toLocaleString('en-GB')} foot rows`);
    writeSoFar();
    console.log(`  ${Math.round((performance.now() - began) / 1000)} s`);
  }
}
console.log(writeDocuments()['docs/benchmarks.md']);
if (failed.length > 0) {
  console.error(`not measured, since it failed: ${failed.join('; ')}`);
  process.exitCode = 1;
}

/** A figure that a document wants may come with a later part: at the end it must be there. */
function writeSoFar(): void {
  try {
    writeDocuments();
  } catch (error) {
    console.error(String(error));
  }
}
