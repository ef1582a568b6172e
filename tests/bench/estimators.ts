import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { FITS, type FitName, type Fitted } from './estimator-fits.ts';
import { ASKED, gatherRows, type Rows, type RowsName } from './estimator-rows.ts';
import { shortRecords } from './herds.ts';
import { openHerd } from './intake.ts';
import { repeated } from './measure.ts';
import type { Measured, Measurement } from './results.ts';

/** A herd that R can answer within minutes. */
export const HORSES = 20_000;
export const VISITS = 8;

interface FromR {
  readonly seconds: readonly number[];
  readonly package: readonly [string];
  readonly version: readonly [string];
  readonly R: readonly [string];
  readonly estimates: readonly number[];
  readonly criterion?: readonly [number];
  readonly loglik?: readonly [number];
}

/** Estimators on one herd, beside R on the same rows. */
export async function measureEstimators(pieces: readonly string[]): Promise<Measured> {
  const rows = await everyRows();
  const folder = mkdtempSync(join(tmpdir(), 'growout-bench-'));
  const measurements: Measurement[] = [];
  const versions: Record<string, string> = {};
  const notes: string[] = [];
  try {
    writeRows(folder, rows);
    const hasR = spawnSync('Rscript', ['--version']).status === 0;
    if (!hasR) notes.push('Rscript is not installed here: the estimators stand alone.');
    for (const name of (Object.keys(FITS) as FitName[]).filter((each) => pieces.includes(each))) {
      console.log(`  ${FITS[name].what}`);
      const { measurement, theirs } = await measureFit(name, rows, hasR ? folder : null);
      measurements.push(measurement);
      if (theirs) {
        versions.R = theirs.R[0];
        versions[theirs.package[0]] = theirs.version[0];
      } else if (hasR && FITS[name].r !== null) notes.push(`R gave no answer for: ${FITS[name].what}`);
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  return { measurements, notes, versions };
}

async function everyRows(): Promise<Record<RowsName, Rows>> {
  const engine = await openNodeEngine();
  await openHerd(engine, await shortRecords(HORSES, VISITS), 'parquet');
  const all: Partial<Record<RowsName, Rows>> = {};
  for (const name of Object.keys(ASKED) as RowsName[]) all[name] = await gatherRows(engine, name);
  await engine.close();
  return all as Record<RowsName, Rows>;
}

/** Columns one after the other as doubles, and what they are. */
function writeRows(folder: string, rows: Readonly<Record<RowsName, Rows>>): void {
  for (const [name, { n, columns }] of Object.entries(rows)) {
    const all = new Float64Array(n * Object.keys(columns).length);
    for (const [j, column] of Object.values(columns).entries()) all.set(column, j * n);
    writeFileSync(join(folder, `${name}.f64`), Buffer.from(all.buffer));
  }
  const described = Object.entries(rows).map(([name, { n, columns, terms }]) => [
    name,
    { n, columns: Object.keys(columns), terms },
  ]);
  writeFileSync(join(folder, 'rows.json'), JSON.stringify(Object.fromEntries(described)));
}

async function measureFit(name: FitName, all: Readonly<Record<RowsName, Rows>>, folder: string | null) {
  const { rows: rowsName, what, r, prepare } = FITS[name];
  const run = prepare(all[rowsName]);
  let fitted: Fitted | null = null;
  const values = await repeated(async () => {
    const began = performance.now();
    fitted = run();
    return performance.now() - began;
  });
  const theirs = folder !== null && r !== null ? askR(folder, name) : null;
  const measurement: Measurement = {
    key: `estimator ${name}`,
    what,
    unit: 'ms',
    values,
    note: `${all[rowsName].n.toLocaleString('en-GB')} rows`,
    ...(theirs && r !== null
      ? {
          beside: { name: `R, ${r}`, values: theirs.seconds.map((s) => s * 1000) },
          apart: differences(fitted!, theirs),
        }
      : {}),
  };
  return { measurement, theirs };
}

function askR(folder: string, name: FitName): FromR | null {
  const { status, stdout, stderr } = spawnSync('Rscript', ['tests/bench/estimators.R', folder, name], {
    encoding: 'utf8',
    maxBuffer: 1e8,
  });
  if (status === 0) return JSON.parse(stdout) as FromR;
  console.warn(stderr.trimEnd());
  return null;
}

const relative = (ours: number, theirs: number): number => Math.abs(ours - theirs) / Math.abs(theirs);

function differences(ours: Fitted, theirs: FromR): NonNullable<Measurement['apart']> {
  if (ours.estimates.length !== theirs.estimates.length) {
    throw new Error(`estimates must be as many as R's: ${ours.estimates.length}, ${theirs.estimates.length}`);
  }
  const largest = Math.max(...ours.estimates.map((value, k) => relative(value, theirs.estimates[k]!)));
  const criterion = theirs.criterion?.[0];
  const loglik = theirs.loglik?.[0];
  return [
    { of: `largest relative difference of ${ours.of}`, value: largest },
    ...(ours.criterion !== undefined && criterion !== undefined
      ? [
          { of: 'REML criterion, here less R', value: ours.criterion - criterion },
          { of: 'REML criterion, relative difference', value: relative(ours.criterion, criterion) },
        ]
      : []),
    ...(ours.loglik !== undefined && loglik !== undefined
      ? [{ of: 'log-likelihood, here less R', value: ours.loglik - loglik }]
      : []),
    ...(ours.of === 'log-likelihoods'
      ? [{ of: 'log-likelihood, here less R', value: sum(ours.estimates) - sum(theirs.estimates) }]
      : []),
  ];
}

const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);
