import type { DuckDBConnection } from '@duckdb/node-api';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { openHerd } from './intake.ts';
import { inTurn, wantsMore } from './measure.ts';
import { openNative } from './native.ts';
import { copyHerd, isLaying } from './native-herd.ts';
import { computePage, lentMemory, openDesk, type ShippedPage, shippedPages } from './page-desk.ts';
import { recording, type Statement } from './recorder.ts';
import type { Measured, Measurement } from './results.ts';

/** What a page asks of the herd, as it was sent; not what it asks of results of its own. */
const ASKS_HERD =
  /\b(foot_visit|trim_cycle|cohort_cycle|cohort_visit|cohort_cycle_no|cohort_visit_no|cycle_row|spell|foot_visit_all|trim_cycle_all|visit_row)\b/;
const isAsked = ({ kind, sql }: Statement): boolean =>
  ASKS_HERD.test(sql) &&
  !/\binformation_schema\b/.test(sql) &&
  (kind === 'query' || /^\s*CREATE (TEMP |TEMPORARY )?TABLE/.test(sql));

/** So that it can be run again. */
const again = (sql: string): string =>
  sql.replace(/^(\s*CREATE) (TEMP |TEMPORARY )?TABLE/, '$1 OR REPLACE $2TABLE');

/**
 * The SQL of every shipped page in the browser's engine and in native DuckDB, over the same rows; results are made in
 * full on both sides, and decoded on neither; entries of a page share what one of them has asked, as they do in the
 * browser. Beside it what each analysis takes as a whole and by itself: SQL, decoding, estimators and writing its tables.
 */
export async function measurePages(folder: string, pieces: readonly string[]): Promise<Measured> {
  const wasm = await openNodeEngine();
  const { engine, statements } = recording(wasm);
  const native = await openNative();
  await openHerd(engine, folder, 'parquet');
  await copyHerd(wasm, native, statements);

  const { memory, shared } = lentMemory();
  const desk = openDesk(engine, memory);
  // What makes the databases that pages work in.
  statements.length = 0;
  await desk.call('countScene', { side: 'left', where: null, version: 0, columns: [] });
  const laid = statements.filter(isLaying);
  const measurements: Measurement[] = [];
  const analyses = new Map<string, number[]>();
  const notes: string[] = [];
  for (const page of shippedPages().filter(({ id }) => pieces.includes(id))) {
    console.log(`  ${title(page)}`);
    const whole: number[] = [];
    while (wantsMore(whole, LONG_PAGE_MS, ENDLESS_PAGE_MS)) {
      const began = performance.now();
      for (const { entry, use, ms } of await computePage(page, desk)) {
        const key = `analysis ${use} of ${page.id}.${entry}`;
        analyses.set(key, [...(analyses.get(key) ?? []), ms]);
      }
      whole.push(performance.now() - began);
    }
    statements.length = 0;
    await shared(() => computePage(page, desk));
    const { sql, skipped } = await runnable([...laid, ...statements], native);
    if (skipped > 0)
      notes.push(`${title(page)}: ${skipped} queries of results that only the page has are left out.`);
    if (sql.length === 0) {
      notes.push(`${title(page)} asks nothing of the herd by itself.`);
      continue;
    }
    const times = await inTurn({
      ours: async () => {
        for (const each of sql) await wasm.run(each);
      },
      native: async () => {
        for (const each of sql) await native.run(each);
      },
    });
    measurements.push({
      key: `sql ${page.id}`,
      what: title(page),
      unit: 'ms',
      values: times.ours,
      beside: { name: 'native DuckDB, the same SQL', values: times.native },
      note: `${sql.length} queries`,
    });
  }
  await wasm.close();
  for (const [key, values] of analyses) {
    measurements.push({ key, what: key.replace('analysis ', '').replace(' of ', ', '), unit: 'ms', values });
  }
  return { measurements, notes };
}

/** A page that takes longer in Node is computed three times, or once: there are fourteen of them. */
const LONG_PAGE_MS = 3_000;
const ENDLESS_PAGE_MS = 6_000;

const title = ({ page }: ShippedPage): string => page.front.title;

/** What native DuckDB can answer of the statements of a page, in order, once what they stand on has been laid. */
async function runnable(
  sent: readonly Statement[],
  native: DuckDBConnection,
): Promise<{ sql: string[]; skipped: number }> {
  const sql: string[] = [];
  let skipped = 0;
  for (const statement of sent) {
    const isTimed = isAsked(statement);
    if (!isTimed && !isLaying(statement)) continue;
    const text = isTimed ? again(statement.sql) : statement.sql;
    try {
      await native.run(text);
      if (isTimed) sql.push(text);
    } catch (error) {
      // A table that an analysis has written from JavaScript is not there.
      if (!/does not exist|already exists/.test(String(error))) throw error;
      if (isTimed) skipped += 1;
    }
  }
  return { sql, skipped };
}
