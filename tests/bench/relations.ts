import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { spellSql } from '../../src/herd/spell-sql.ts';
import { openHerd } from './intake.ts';
import { inTurn } from './measure.ts';
import { openNative } from './native.ts';
import { copyHerd } from './native-herd.ts';
import { makingCycles, recording } from './recorder.ts';
import type { Measurement } from './results.ts';

/** The page's own relation is a view: all of it is worked out, and kept, to see what it costs. */
const SPELLS = spellSql([]).replace(
  /^CREATE OR REPLACE VIEW spell AS/,
  'CREATE OR REPLACE TABLE memory.main.bench_spell AS',
);

/** The relations' own SQL in the browser's engine and in native DuckDB, over the same rows. */
export async function measureRelations(folder: string): Promise<Measurement[]> {
  const wasm = await openNodeEngine();
  const native = await openNative();
  const { engine, statements } = recording(wasm);
  await openHerd(engine, folder, 'parquet');
  await copyHerd(wasm, native, statements);
  const cycles = makingCycles(statements).map(({ sql }) => sql);
  const relations = [
    { key: 'relation trim_cycle', what: '`trim_cycle`', sent: cycles },
    { key: 'relation spell', what: '`spell`, of every problem, as a table', sent: [SPELLS] },
  ];
  const measurements: Measurement[] = [];
  for (const { key, what, sent } of relations) {
    const times = await inTurn({
      ours: async () => {
        for (const each of sent) await wasm.run(each);
      },
      native: async () => {
        for (const each of sent) await native.run(each);
      },
    });
    measurements.push({
      key,
      what,
      unit: 'ms',
      values: times.ours,
      beside: { name: 'native DuckDB, the same SQL', values: times.native },
    });
  }
  await wasm.close();
  return measurements;
}
