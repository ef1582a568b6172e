import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import type { CivilDay } from '../core/civil-day.ts';
import { initParquet } from '../engine/parquet.ts';
import { isColumnName } from '../herd/dictionary.ts';
import { type Combined, combine } from '../intake/combine.ts';
import { mappingProblems } from '../intake/mapping.ts';
import { inspectFile } from '../intake/open.ts';
import { kindOf, proposeMapping } from '../intake/propose.ts';
import { type Read, readSource } from '../intake/read.ts';
import { IntakeRefusal } from '../intake/refusal.ts';
import type { Source, SourceColumn } from '../intake/source.ts';
import { type AuditArguments, UnusableInput } from './arguments.ts';
import type { RecordFile } from './hive-folder.ts';

/** Files judged together, and what is worth knowing of those that hold no rows. */
export interface ReadFiles extends Combined {
  readonly empty: readonly string[];
}

/** Reads the files by their proposed mappings. Throws `UnusableInput` for what a person would have to settle. */
export async function readFiles(
  files: readonly RecordFile[],
  dates: AuditArguments['dates'],
  today: CivilDay,
): Promise<ReadFiles> {
  await loadParquet();
  const reads: Read[] = [];
  const empty: string[] = [];
  for (const file of files) {
    try {
      reads.push(await readOne(file, dates, today));
    } catch (error) {
      if (!(error instanceof IntakeRefusal)) throw error;
      // One file of many may hold none: whoever wrote the parts had nothing to put there.
      if (error.reason !== 'no-rows' || files.length === 1) throw new UnusableInput(error.sentence);
      empty.push(error.sentence);
    }
  }
  const combined = combine(reads);
  return Object.assign(combined, { empty });
}

async function loadParquet(): Promise<void> {
  const path = createRequire(import.meta.url).resolve('parquet-wasm/esm/parquet_wasm_bg.wasm');
  await initParquet(await readFile(path));
}

async function readOne(
  { path, name, keys }: RecordFile,
  dates: AuditArguments['dates'],
  today: CivilDay,
): Promise<Read> {
  const bytes = await bytesOf(path);
  const inspected = await inspectFile({ name, bytes });
  const source = withKeys(inspected.source, keys);
  const proposed = source === inspected.source ? inspected.mapping : proposeMapping(source, kindOf(source));
  const mapping =
    proposed.dateOrder === 'ask' && dates !== null ? { ...proposed, dateOrder: dates } : proposed;
  const open = mappingProblems(mapping);
  if (open.length > 0) {
    const hint =
      mapping.dateOrder === 'ask' ? ' Say which with --dates day-first or --dates month-first.' : '';
    throw new UnusableInput(`${name}: ${open.join(' ')}${hint}`);
  }
  return readSource(source, mapping, { today });
}

async function bytesOf(path: string): Promise<Uint8Array> {
  try {
    return new Uint8Array(await readFile(path));
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (code === 'ENOENT') throw new UnusableInput(`${path}: there is no such file`);
    if (code === 'EACCES') throw new UnusableInput(`${path}: may not be read`);
    throw error;
  }
}

/** Writers leave a column out of the file whose value stands in the folder's name. */
function withKeys(source: Source, keys: RecordFile['keys']): Source {
  const had = new Set(source.columns.map(({ name }) => name));
  const more = Object.entries(keys)
    .filter(([name]) => isColumnName(name) && !had.has(name))
    .map(
      ([name, value]): SourceColumn => ({
        name,
        type: 'text',
        codes: new Uint8Array(source.rowCount),
        distinct: [value],
        counts: Int32Array.of(source.rowCount),
      }),
    );
  return more.length === 0 ? source : { ...source, columns: [...source.columns, ...more] };
}
