import { z } from 'zod';
import type { AnalysisResult } from '../analyses/analysis.ts';
import { ANALYSES, analysisNamed } from '../analyses/index.ts';
import { isLargeHerd } from '../analyses/large-herd.ts';
import { cohortCondition, countHerd, type HerdCounts } from '../analyses/load-herd.ts';
import { forOneQuestion, type Memory, makeMemory } from '../analyses/memory.ts';
import { setCohort } from '../analyses/set-cohort.ts';
import type { CivilDay } from '../core/civil-day.ts';
import { letGo } from '../core/let-go.ts';
import { numbers, type Table } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { makeQueue } from '../engine/in-turn.ts';
import { quoteName } from '../engine/sql-text.ts';
import { SHOWN } from '../herd/cycle-columns.ts';
import { HERD } from '../herd/herd-names.ts';
import { tableToCsv } from '../intake/csv-out.ts';
import type { AnalysisDescription, JsonSchema } from '../pages/analysis-fields.ts';
import { expressionProblem } from '../pages/sql-references.ts';
import { answerOf, runAnalysis } from './answer.ts';
import { encodeTable } from './encode-table.ts';
import type { PageMethods, RowsBehind, RowsRequest } from './herd-service.ts';
import { pageQueries } from './page-query.ts';
import { pageTables } from './page-tables.ts';
import type { Scene, Scenes } from './scenes.ts';
import { sendingWhole } from './sending-whole.ts';
import { shareOut, type Threads } from './threads.ts';

const ROW_ORDER = {
  foot_visit: 'horse_id, visit_date, foot, source_file, source_line',
  trim_cycle: 'horse_id, foot, visit_date, source_file, source_line',
  spell: 'horse_id, foot, problem, spell_number',
} as const;

type Stage = <T>(job: () => Promise<T>) => Promise<T>;
const EVERYWHERE = { relation: 'foot_visit', where: 'TRUE', title: '' } as const;

/**
 * Answers pages: cohort, queries, analyses and the rows behind a figure, over one engine. Where a memory is given, it is
 * told of every change of the herd's rows by whoever makes it; without one, nothing outlives the answer it was made for.
 * `threads` share out analyses, where there are some.
 */
export function pageDesk(
  engine: Engine,
  today: CivilDay,
  scenes: Scenes,
  memory: Memory | null = null,
  threads: Threads = shareOut(() => []),
): PageMethods {
  /** By the cohort's condition and not by the count of changes: a change that is undone finds what was there. */
  async function cohortOf(scene: Scene): Promise<string> {
    return cohortKey(scene.where ?? (await herdCohort()), scene.columns);
  }
  /** As it was set here, and of which state of the herd's rows: with other rows comes another cohort. */
  let set: { readonly where: string; readonly rows: number } | null = null;
  async function herdCohort(): Promise<string> {
    return set && set.rows === memory?.over('').rows ? set.where : cohortCondition(engine);
  }
  const kept = (): Memory => memory ?? makeMemory();
  const isLarge = (): Promise<boolean> =>
    kept()
      .over('')
      .remember('is large', () => isLargeHerd(engine));
  /** Of a large herd what one analysis takes out of the engine is much: never that of all entries of a page at once. */
  const oneByOne = makeQueue();
  const tables = pageTables(engine);
  const runQuery = pageQueries(engine, tables);
  const inSceneOf = ({ scene }: RowsBehind): Stage =>
    scene ? (job) => scenes.inScene(scene, job) : (job) => scenes.inHerd(job);

  /** The condition that selects the rows behind a figure. It may come from a page, and a page from anyone. */
  async function condition({ relation, where, scene }: RowsBehind): Promise<string> {
    if (!(relation in SHOWN))
      throw new Error(`relation must be one of ${Object.keys(SHOWN).join(', ')}: ${relation}`);
    const problem = expressionProblem(where);
    if (problem) throw new Error(problem.message);
    if (scene) await tables.provide(scene, where);
    await engine.check(`SELECT 1 FROM ${relation} WHERE (${where}\n)`);
    return `(${where}\n)`;
  }

  async function rows({ behind, offset, limit, sort }: RowsRequest, signal: AbortSignal): Promise<Table> {
    const { relation } = behind;
    const where = await condition(behind);
    const shown = SHOWN[relation].map((column) => quoteName(column.name)).join(', ');
    const order = sort ? `${quoteName(sort.column)} ${sort.descending ? 'DESC' : 'ASC'} NULLS LAST, ` : '';
    const page = Number.isFinite(limit) ? `LIMIT ${Math.trunc(limit)} OFFSET ${Math.trunc(offset)}` : '';
    return engine.query(
      `SELECT ${shown} FROM ${relation} WHERE ${where} ORDER BY ${order} ${ROW_ORDER[relation]} ${page}`,
      signal,
    );
  }
  const allRows = (behind: RowsBehind, signal: AbortSignal): Promise<Table> =>
    rows({ behind, offset: 0, limit: Number.POSITIVE_INFINITY, sort: null }, signal);

  return {
    async setCohort(where): Promise<void> {
      set = null;
      await scenes.inHerdAsItStands(() => setCohort(engine, where));
      set = memory && { where, rows: memory.over('').rows };
      if (!(await isLarge())) threads.begin();
    },

    // In no turn of its own: entries of a page are not to wait for it.
    async countCohort(): Promise<HerdCounts> {
      const counted = kept().over(cohortKey(await herdCohort(), []));
      return counted.remember('counts', () => countHerd(engine, { schema: HERD }));
    },

    runQuery: (run, { signal }) => scenes.inScene(run.scene, () => runQuery(run, signal), signal),

    runAnalysis: ({ scene, name, use, options, lengths = 'mm' }, context) =>
      scenes.inScene(
        scene,
        async (): Promise<AnalysisResult> => {
          const analysis = analysisNamed(use);
          const parsed = analysis.options.safeParse(options);
          if (!parsed.success) throw new Error(`${use}: ${z.prettifyError(parsed.error)}`);
          const cohort = await cohortOf(scene);
          const large = await isLarge();
          const remembered = kept().over(cohort, large);
          const { remember, rows: state } = remembered;
          // A column of the page may follow from more than a row: what it stands on is not kept from cohort to cohort.
          const keepsHerd = !large && scene.columns.length === 0;
          const here = (): Promise<AnalysisResult> =>
            runAnalysis(analysis, parsed.data, lengths, {
              engine: large ? engine : sendingWhole(engine),
              today,
              signal: context.signal,
              progress: context.progress,
              draft: context.part,
              remember,
              rememberColumns: large ? forOneQuestion() : undefined,
              rememberHerd: keepsHerd ? kept().over('').remember : undefined,
            });
          const question = { use, options, lengths, today, cohort, rows: state, keepsHerd };
          const result = await answerOf(analysis, parsed.data, lengths, remembered, () =>
            large
              ? oneByOne(() => {
                  // What the one before has left.
                  letGo();
                  return here();
                })
              : threads.answer(use, here, (analyst, sharesFits) =>
                  analyst.answer({ ...question, sharesFits }, context),
                ),
          );
          context.signal.throwIfAborted();
          tables.answered(scene, name, result.tables);
          return result;
        },
        context.signal,
      ),

    describeAnalyses: async () => describeAnalyses(),

    countScene: (scene) => scenes.inScene(scene, () => countHerd(engine)),

    async checkColumn(scene) {
      const column = scene.columns.at(-1);
      if (!column) return;
      const problem = expressionProblem(column.expression);
      if (problem) throw new Error(problem.message);
      await scenes.inScene({ ...scene, columns: scene.columns.slice(0, -1) }, async () => {
        const there = await engine.query(`SELECT * FROM ${column.on} LIMIT 0`);
        if (Object.keys(there.columns).some((name) => name.toLowerCase() === column.name.toLowerCase())) {
          throw new Error(`${column.on} must not have a column of this name already: ${column.name}`);
        }
        await tables.provide(scene, column.expression);
        await engine.check(`SELECT (${column.expression}\n) FROM ${column.on}`);
      });
    },

    dropEntry: ({ scene, name }) => scenes.inScene(scene, () => tables.clear(scene, name)),

    countRows: (behind, { signal }) =>
      inSceneOf(behind)(async (): Promise<number> => {
        const where = await condition(behind);
        const table = await engine.query(
          `SELECT count(*) AS n FROM ${behind.relation} WHERE ${where}`,
          signal,
        );
        return numbers(table, 'n')[0] ?? 0;
      }),

    fetchRows: (request, { signal }) => inSceneOf(request.behind)(() => rows(request, signal)),

    rowsAsCsv: (behind, { signal }) =>
      inSceneOf(behind)(async () => tableToCsv(await allRows(behind, signal))),

    takeAway({ of, format }, { signal }) {
      if (of.kind === 'table') return encodeTable(of.table, format);
      const stage = of.kind === 'rows' ? inSceneOf(of.behind) : inSceneOf({ ...EVERYWHERE, scene: of.scene });
      return stage(async () => {
        const table =
          of.kind === 'rows'
            ? await allRows(of.behind, signal)
            : await engine.query(`SELECT * FROM main.${quoteName(of.name)}`, signal);
        return encodeTable(table, format);
      });
    },
  };
}

const cohortKey = (where: string, columns: Scene['columns']): string => JSON.stringify([where, columns]);

/** Analyses with the JSON Schema of their options: what can go to where no estimator is loaded. */
export function describeAnalyses(): AnalysisDescription[] {
  return ANALYSES.map(({ name, question, options }) => ({
    name,
    question,
    schema: z.toJSONSchema(options, { io: 'input', unrepresentable: 'any' }) as JsonSchema,
  }));
}
