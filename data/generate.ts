/**
 * Makes the invented herd. `npx tsx data/generate.ts` rewrites the committed files in data/;
 * `npx tsx data/generate.ts --rows 1000000 --out data/generated/1m` writes a large herd for benchmarks.
 */
import { writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { writeBenchmark } from './benchmark-files.ts';
import { demoFiles } from './demo-files.ts';

const here = dirname(fileURLToPath(import.meta.url));
const { values } = parseArgs({ options: { rows: { type: 'string' }, out: { type: 'string' } } });

if (values.rows === undefined) {
  const folder = values.out ?? here;
  for (const [name, content] of Object.entries(demoFiles())) {
    writeFileSync(join(folder, name), content);
    console.log(
      `${join(folder, name)}: ${content.length} ${typeof content === 'string' ? 'characters' : 'bytes'}`,
    );
  }
} else {
  const rows = Number(values.rows);
  if (!Number.isInteger(rows) || rows < 1)
    throw new Error(`--rows must be a whole number above 0: ${values.rows}`);
  const folder = values.out ?? join(here, 'generated', values.rows);
  const made = await writeBenchmark(rows, folder);
  console.log(`${folder}: ${made.rows} rows of ${made.horses} horses`);
}
