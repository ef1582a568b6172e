import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { basename } from 'node:path';
import type { CivilDay } from '../core/civil-day.ts';
import { initParquet } from '../engine/parquet.ts';
import { type Combined, combine } from '../intake/combine.ts';
import { mappingProblems } from '../intake/mapping.ts';
import { inspectFile } from '../intake/open.ts';
import { type Read, readSource } from '../intake/read.ts';
import { IntakeRefusal } from '../intake/refusal.ts';
import { type AuditArguments, UnusableInput } from './arguments.ts';

/** Reads the files by their proposed mappings. Throws `UnusableInput` for what a person would have to settle. */
export async function readFiles({ files, dates }: AuditArguments, today: CivilDay): Promise<Combined> {
  await loadParquet();
  const reads: Read[] = [];
  for (const path of files) reads.push(await readOne(path, dates, today));
  const combined = combine(reads);
  if (combined.visits.rowCount === 0) {
    throw new UnusableInput(
      `none of the rows of ${files.join(', ')} could be admitted: ${combined.report.setAside} were set aside`,
    );
  }
  return combined;
}

async function loadParquet(): Promise<void> {
  const path = createRequire(import.meta.url).resolve('parquet-wasm/esm/parquet_wasm_bg.wasm');
  await initParquet(await readFile(path));
}

async function readOne(path: string, dates: AuditArguments['dates'], today: CivilDay): Promise<Read> {
  const name = basename(path);
  try {
    const bytes = new Uint8Array(await readFile(path));
    const { source, mapping: proposed } = await inspectFile({ name, bytes });
    const mapping =
      proposed.dateOrder === 'ask' && dates !== null ? { ...proposed, dateOrder: dates } : proposed;
    const open = mappingProblems(mapping);
    if (open.length > 0) {
      const hint =
        mapping.dateOrder === 'ask' ? ' Say which with --dates day-first or --dates month-first.' : '';
      throw new UnusableInput(`${name}: ${open.join(' ')}${hint}`);
    }
    return await readSource(source, mapping, { today });
  } catch (error) {
    if (error instanceof IntakeRefusal) throw new UnusableInput(error.sentence);
    const code = (error as NodeJS.ErrnoException).code;
    if (code === 'ENOENT') throw new UnusableInput(`${path}: there is no such file`);
    if (code === 'EISDIR') throw new UnusableInput(`${path}: is a folder; name the files in it`);
    if (code === 'EACCES') throw new UnusableInput(`${path}: may not be read`);
    throw error;
  }
}
