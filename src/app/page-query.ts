import { numbers, type Table } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { quoteName } from '../engine/sql-text.ts';
import { bareSelect, selectProblem } from '../pages/sql-references.ts';
import { fillParams } from './fill-params.ts';
import type { QueryRun } from './herd-service.ts';
import type { PageTables } from './page-tables.ts';
import { firstRows } from './result-size.ts';

/** A query's result as far as a page shows or draws it. */
const MOST_ROWS = 20_000;

/** Texts of statements kept: of every page, and of one that is being written. */
const MOST_CHECKED = 500;

/**
 * Runs queries of pages over one engine, in the scene in use: each one SELECT, whose result stands under its entry's name.
 * Throws with a sentence, or the engine's message, about the SQL as the page has it.
 */
export function pageQueries(
  engine: Engine,
  tables: PageTables,
): (run: QueryRun, signal: AbortSignal) => Promise<Table> {
  /** Found to be one SELECT, which hangs on the text alone. */
  const checked = new Set<string>();

  async function check(select: string): Promise<void> {
    // Checked alone: only one SELECT can stand inside parentheses, so nothing else can run.
    await engine.check(select);
    if (checked.size >= MOST_CHECKED) checked.clear();
    checked.add(select);
  }

  return async ({ scene, name, sql, params }, signal) => {
    const filled = fillParams(sql, params);
    const problem = selectProblem(filled);
    if (problem) throw new Error(problem.message);
    const statement = bareSelect(filled);
    const select = `SELECT * FROM (${statement}\n)`;
    const table = `main.${quoteName(name)}`;
    // The engine works in order: what the query reads is written before it, without waiting for it here.
    const provided = tables.provide(scene, statement);
    provided.catch(() => undefined);
    if (!checked.has(select)) {
      await provided;
      await check(select);
    }
    await tables.giveWay(scene, name);
    let made: Table;
    try {
      [made] = await Promise.all([
        engine.query(`CREATE OR REPLACE TABLE ${table} AS ${select}`, signal),
        provided,
      ]);
    } catch (error) {
      // What stood there is not this query's result.
      await tables.clear(scene, name);
      signal.throwIfAborted();
      await check(select);
      throw error;
    }
    return firstRows(engine, table, { most: MOST_ROWS, of: numbers(made, 'Count')[0] }, signal);
  };
}
