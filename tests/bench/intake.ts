import { closeSync, openSync, readFileSync, readSync } from 'node:fs';
import { join } from 'node:path';
import type { DuckDBConnection } from '@duckdb/node-api';
import { loadHerd } from '../../src/analyses/load-herd.ts';
import type { CivilDay } from '../../src/core/civil-day.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { sqlType } from '../../src/herd/ddl.ts';
import { FOOT_VISIT } from '../../src/herd/dictionary.ts';
import { combine } from '../../src/intake/combine.ts';
import { inspectFiles } from '../../src/intake/open.ts';
import { type Read, readSource } from '../../src/intake/read.ts';
import { inTurn } from './measure.ts';
import type { Pair } from './relations.ts';

const DAY = 20_782 as CivilDay;

/** From bytes to admitted rows in tables of the engine, every row checked; the relations are timed apart. */
export async function admitFiles(engine: Engine, folder: string, kind: 'csv' | 'parquet'): Promise<number> {
  const files = ['visits', 'horses'].map((name) => ({
    name: `${name}.${kind}`,
    bytes: new Uint8Array(readFileSync(join(folder, `${name}.${kind}`))),
  }));
  const { inspections } = await inspectFiles(files);
  const reads: Read[] = [];
  for (const { source, mapping } of inspections)
    reads.push(await readSource(source, mapping, { today: DAY }));
  const { admitted, horses, report } = combine(reads);
  if (!report.identityHolds) throw new Error('rows read must equal rows admitted and set aside');
  await loadHerd(engine, { visits: admitted, horses }, { hemisphere: 'north' });
  return admitted.rowCount;
}

/** The same file read by native DuckDB into a table of the same types, nothing checked but the casts. */
export function nativeRead(
  native: DuckDBConnection,
  folder: string,
  kind: 'csv' | 'parquet',
): Promise<unknown> {
  const path = join(folder, `visits.${kind}`).replaceAll("'", "''");
  if (kind === 'parquet') {
    return native.run(`CREATE OR REPLACE TABLE visit AS SELECT * FROM read_parquet('${path}')`);
  }
  const header = firstLine(join(folder, `visits.${kind}`)).split(',');
  const typeOf = new Map<string, string>(FOOT_VISIT.map(({ name, kind: of }) => [name, sqlType(of)]));
  const columns = header.map((name) => `'${name}': '${typeOf.get(name) ?? 'VARCHAR'}'`).join(', ');
  return native.run(
    `CREATE OR REPLACE TABLE visit AS SELECT * FROM read_csv('${path}', header = true, auto_detect = false, delim = ',', quote = '"', escape = '"', columns = {${columns}})`,
  );
}

function firstLine(path: string): string {
  const file = openSync(path, 'r');
  const start = Buffer.alloc(8192);
  const length = readSync(file, start);
  closeSync(file);
  return start.toString('utf8', 0, length).split('\n')[0]!.trim();
}

export async function intakePairs(engine: Engine, native: DuckDBConnection, folder: string): Promise<Pair[]> {
  const pairs: Pair[] = [];
  for (const kind of ['parquet', 'csv'] as const) {
    const { ours, native: theirs } = await inTurn({
      ours: () => admitFiles(engine, folder, kind),
      native: () => nativeRead(native, folder, kind),
    });
    pairs.push({
      what: `${kind === 'csv' ? 'CSV' : 'Parquet'} to \`foot_visit\` and \`trim_cycle\``,
      ours,
      native: theirs,
    });
  }
  return pairs;
}
