import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { rowsOf } from '../../src/core/table.ts';
import { initParquet, writeParquet } from '../../src/engine/parquet.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { demoGrid, tableOfGrid, textOf } from './base-files.ts';
import { offer } from './intake-case.ts';

/** The codec from the package, as the batch command hands it in. */
export async function openParquetCodec(): Promise<void> {
  const path = createRequire(import.meta.url).resolve('parquet-wasm/esm/parquet_wasm_bg.wasm');
  await initParquet(readFileSync(path));
}

export interface GoodFile {
  readonly name: string;
  readonly bytes: Uint8Array;
  /** Of all rows admitted and set aside. */
  readonly digest: string;
  readonly rows: number;
}

/** Everything that intake made of a file, as one short text. */
async function digestOf(file: {
  name: string;
  bytes: Uint8Array;
}): Promise<{ digest: string; rows: number }> {
  const { combined, faults } = await offer(file, seededRandom(1));
  if (!combined || faults.length > 0)
    throw new Error(`${file.name} must be read: ${faults.join('; ') || 'refused'}`);
  const { admitted, horses, setAside } = combined;
  const all = JSON.stringify([admitted, horses, setAside].map(rowsOf));
  return { digest: createHash('sha256').update(all).digest('hex'), rows: admitted.rowCount };
}

/** The same rows as text and as Parquet, and what they give before anything bad was read. */
export async function goodFiles(): Promise<GoodFile[]> {
  const grid = { ...demoGrid(seededRandom(20_261)), delimiter: ',' };
  const files = [
    { name: 'good.csv', bytes: new TextEncoder().encode(textOf(grid)) },
    { name: 'good.parquet', bytes: await writeParquet(tableOfGrid(grid)) },
  ];
  return Promise.all(files.map(async (file) => ({ ...file, ...(await digestOf(file)) })));
}

/** What is wrong with the good files now, in words. */
export async function goodFaults(files: readonly GoodFile[]): Promise<string[]> {
  const faults: string[] = [];
  for (const file of files) {
    try {
      if ((await digestOf(file)).digest !== file.digest)
        faults.push(`${file.name} gives another result afterwards`);
    } catch (error) {
      faults.push(`${file.name} afterwards: ${error}`);
    }
  }
  return faults;
}
