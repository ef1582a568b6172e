import { z } from 'zod';
import type { AnalysisResult, Behind } from '../analyses/analysis.ts';
import { analysisNamed } from '../analyses/index.ts';
import { countHerd, type HerdCounts, setCohort } from '../analyses/load-herd.ts';
import type { CivilDay } from '../core/civil-day.ts';
import { numbers, type Table } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { quoteName } from '../engine/sql-text.ts';
import { SHOWN } from '../herd/cycle-columns.ts';
import { tableToCsv } from '../intake/csv-out.ts';
import { fillParams } from './fill-params.ts';
import type { EntryRun, PageMethods, QueryRun, RowsRequest } from './herd-service.ts';
import type { CallContext } from './rpc.ts';

/** A query's result as far as a page shows or draws it. */
const MOST_ROWS = 20_000;

const ROW_ORDER = {
  foot_visit: 'horse_id, visit_date, foot, source_file, source_line',
  trim_cycle: 'horse_id, foot, visit_date, source_file, source_line',
  spell: 'horse_id, foot, problem, spell_number',
} as const;

/** Answers pages: cohort, queries, analyses and the rows behind a figure, over one engine. */
export function pageDesk(engine: Engine, today: CivilDay): PageMethods {
  return {
    async setCohort(where: string): Promise<HerdCounts> {
      await setCohort(engine, where);
      return countHerd(engine);
    },

    async runQuery({ name, sql, params }: QueryRun, { signal }: CallContext): Promise<Table> {
      const statement = fillParams(sql, params).replace(/;\s*$/, '');
      // Checked alone: only one SELECT can stand inside parentheses, so nothing else can run.
      await engine.check(`SELECT * FROM (${statement}\n)`);
      await dropEntry(engine, name);
      await engine.run(`CREATE TABLE main.${quoteName(name)} AS SELECT * FROM (${statement}\n)`, signal);
      return engine.query(`SELECT * FROM main.${quoteName(name)} LIMIT ${MOST_ROWS}`, signal);
    },

    async runAnalysis({ name, use, options }: EntryRun, context: CallContext): Promise<AnalysisResult> {
      const analysis = analysisNamed(use);
      const parsed = analysis.options.safeParse(options);
      if (!parsed.success) throw new Error(`${use}: ${z.prettifyError(parsed.error)}`);
      const result = await analysis.run(parsed.data, { engine, today, ...context });
      context.signal.throwIfAborted();
      await dropEntry(engine, name);
      await engine.run(`CREATE SCHEMA ${quoteName(name)}`);
      for (const { name: table, table: rows } of result.tables) {
        await engine.write(`${quoteName(name)}.${quoteName(table)}`, rows);
      }
      return result;
    },

    dropEntry: (name) => dropEntry(engine, name),

    async countRows({ relation, where }: Behind): Promise<number> {
      const table = await engine.query(`SELECT count(*) AS n FROM ${relation} WHERE ${where}`);
      return numbers(table, 'n')[0] ?? 0;
    },

    async fetchRows({ behind, offset, limit, sort }: RowsRequest, { signal }): Promise<Table> {
      const shown = SHOWN[behind.relation].map((column) => quoteName(column.name)).join(', ');
      const order = sort ? `${quoteName(sort.column)} ${sort.descending ? 'DESC' : 'ASC'} NULLS LAST, ` : '';
      return engine.query(
        `SELECT ${shown} FROM ${behind.relation} WHERE ${behind.where}
         ORDER BY ${order} ${ROW_ORDER[behind.relation]}
         LIMIT ${Math.trunc(limit)} OFFSET ${Math.trunc(offset)}`,
        signal,
      );
    },
    async rowsAsCsv({ relation, where }: Behind): Promise<string> {
      const shown = SHOWN[relation].map((column) => quoteName(column.name)).join(', ');
      return tableToCsv(
        await engine.query(`SELECT ${shown} FROM ${relation} WHERE ${where} ORDER BY ${ROW_ORDER[relation]}`),
      );
    },
  };
}

async function dropEntry(engine: Engine, name: string): Promise<void> {
  await engine.run(`DROP TABLE IF EXISTS main.${quoteName(name)}`);
  await engine.run(`DROP SCHEMA IF EXISTS ${quoteName(name)} CASCADE`);
}
