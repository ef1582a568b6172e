import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { loadHerd, setToday } from '../../src/analyses/load-herd.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { combine } from '../../src/intake/combine.ts';
import { inspectFiles } from '../../src/intake/open.ts';
import { type Read, readSource } from '../../src/intake/read.ts';
import { TODAY } from './herds.ts';
import { inTurn } from './measure.ts';
import { type FileKind, nativeReader, openNative } from './native.ts';
import { makingCycles, recording, type Statement } from './recorder.ts';
import type { Measured, Measurement } from './results.ts';
import { openUnchecked } from './unchecked.ts';

/** What can be measured by itself. */
export const INTAKE_PIECES = ['parquet', 'csv'] as const;

/** From the bytes of two files to the relations of a herd in the engine, every row checked. */
export async function openHerd(engine: Engine, folder: string, kind: FileKind): Promise<void> {
  const files = ['visits', 'horses'].map((name) => ({
    name: `${name}.${kind}`,
    bytes: readFileSync(join(folder, `${name}.${kind}`)),
  }));
  const { inspections } = await inspectFiles(files);
  const reads: Read[] = [];
  for (const { source, mapping } of inspections)
    reads.push(await readSource(source, mapping, { today: TODAY }));
  const { visits, horses, report } = combine(reads);
  if (!report.identityHolds) throw new Error('rows read must equal rows admitted and set aside');
  await loadHerd(engine, { visits, horses }, { hemisphere: 'north' });
  await setToday(engine, TODAY);
}

/** Milliseconds of the statements that make `trim_cycle`: it has a row of its own. */
const ofCycles = (statements: readonly Statement[]): number =>
  makingCycles(statements).reduce((sum, { ms }) => sum + ms, 0);

/** Files to `foot_visit`, beside native DuckDB that reads and casts the same files. */
export async function measureIntake(folder: string, pieces: readonly string[]): Promise<Measured> {
  const measurements: Measurement[] = [];
  for (const kind of INTAKE_PIECES.filter((piece) => pieces.includes(piece))) {
    const engine = await openNodeEngine();
    const native = await openNative();
    const unchecked = kind === 'parquet' ? await openUnchecked(folder) : null;
    const apart: number[] = [];
    const {
      ours,
      native: theirs,
      floor,
    } = await inTurn({
      ours: async () => {
        const listened = recording(engine);
        await openHerd(listened.engine, folder, kind);
        apart.push(ofCycles(listened.statements));
      },
      native: await nativeReader(native, folder, kind),
      floor: unchecked ? unchecked.read : () => undefined,
    });
    const beside = {
      name: kind === 'csv' ? 'native DuckDB, columns and types given' : 'native DuckDB',
      values: theirs,
    };
    measurements.push({
      key: `intake ${kind}`,
      what: `${kind === 'csv' ? 'CSV' : 'Parquet'} to \`foot_visit\`, every row checked`,
      unit: 'ms',
      values: ours.map((ms, k) => ms - apart[k]!),
      beside,
    });
    if (unchecked) {
      measurements.push({
        key: 'unchecked parquet',
        what: 'Parquet into a table of the same engine, nothing checked',
        unit: 'ms',
        values: floor,
        beside,
        note: 'what reading could not go below',
      });
      unchecked.close();
    }
    await engine.close();
  }
  return { measurements };
}
