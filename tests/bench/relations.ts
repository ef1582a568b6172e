import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { spellSql } from '../../src/herd/spell-sql.ts';
import { openHerd } from './intake.ts';
import { inTurn } from './measure.ts';
import { openNative } from './native.ts';
import { copyHerd } from './native-herd.ts';
import { makingCycles, recording } from './recorder.ts';
import type { Measured, Measurement } from './results.ts';

/** What can be measured by itself. */
export const RELATION_PIECES = ['trim_cycle', 'spell'] as const;

/** The page's own relation is a view: all of it is worked out, and kept, to see what it costs. */
const SPELLS = spellSql([]).replace(
  /^CREATE OR REPLACE VIEW spell AS/,
  'CREATE OR REPLACE TABLE memory.main.bench_spell AS',
);

/** The relations' own SQL in the browser's engine and in native DuckDB, over the same rows. */
export async function measureRelations(folder: string, pieces: readonly string[]): Promise<Measured> {
  const wasm = await openNodeEngine();
  const native = await openNative();
  const { engine, statements } = recording(wasm);
  await openHerd(engine, folder, 'parquet');
  await copyHerd(wasm, native, statements);
  const cycles = makingCycles(statements).map(({ sql }) => sql);
  const relations = [
    { piece: 'trim_cycle', what: '`trim_cycle`', sent: cycles },
    { piece: 'spell', what: '`spell`, of every problem, as a table', sent: [SPELLS] },
  ] satisfies { piece: (typeof RELATION_PIECES)[number]; what: string; sent: string[] }[];
  const measurements: Measurement[] = [];
  for (const { piece, what, sent } of relations.filter(({ piece }) => pieces.includes(piece))) {
    const times = await inTurn({
      ours: async () => {
        for (const each of sent) await wasm.run(each);
      },
      native: async () => {
        for (const each of sent) await native.run(each);
      },
    });
    measurements.push({
      key: `relation ${piece}`,
      what,
      unit: 'ms',
      values: times.ours,
      beside: { name: 'native DuckDB, the same SQL', values: times.native },
    });
  }
  await wasm.close();
  return { measurements };
}
