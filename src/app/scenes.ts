import { layCohort, useHerd } from '../analyses/load-herd.ts';
import { type Table, texts } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { quoteName } from '../engine/sql-text.ts';
import { HERD, HERD_CATALOG } from '../herd/herd-names.ts';
import { expressionProblem } from '../pages/sql-references.ts';
import { makeTurns } from './turns.ts';

/** A derived column of a page: it lives as long as the page is open. */
export interface PageColumn {
  readonly name: string;
  readonly on: 'foot_visit' | 'trim_cycle';
  readonly expression: string;
}

/** What a page looks at while it computes. Two cohorts side by side are two scenes. */
export interface Scene {
  readonly side: 'left' | 'right';
  /** The condition of a cohort of its own; null for the cohort that the shell has set. */
  readonly where: string | null;
  /** Grows with every change of cohort or herd: the views are then made anew. */
  readonly version: number;
  /** In order: one may use those before it. */
  readonly columns: readonly PageColumn[];
}

const CATALOGS = { left: 'left_side', right: 'right_side' } as const;
/** Where the second cohort's own relations stand. */
const SECOND_HERD = 'second_herd';
const RELATIONS = [
  { name: 'foot_visit', on: 'foot_visit' },
  { name: 'trim_cycle', on: 'trim_cycle' },
  { name: 'cohort_cycle', on: 'trim_cycle' },
  { name: 'cohort_visit', on: 'foot_visit' },
  { name: 'cohort_cycle_no', on: null },
  { name: 'cohort_visit_no', on: null },
  { name: 'spell', on: null },
] as const;

export interface Scenes {
  /** Runs a job over the herd itself, with no page computing meanwhile. */
  inHerd<T>(job: () => Promise<T>): Promise<T>;
  /** The same of a job that leaves the herd's relations their columns, so that what stands on them may stay. */
  inHerdAsItStands<T>(job: () => Promise<T>): Promise<T>;
  /** Runs a page's job: `foot_visit`, `trim_cycle` and `spell` are those of its scene. */
  inScene<T>(scene: Scene, job: () => Promise<T>, signal?: AbortSignal): Promise<T>;
}

/**
 * Keeps what pages make (results under their entries' names, derived columns, a second cohort) in databases of its own
 * beside the herd's, so that no page can put anything in place of the herd's tables and two cohorts never mix.
 */
export function makeScenes(engine: Engine): Scenes {
  const turns = makeTurns();
  const attached = new Set<string>();
  const standing = new Map<Scene['side'], string>();
  /** The database in use; null where a job may have gone to another. */
  let at: string | null = null;
  /** Grows with every job that may have given the herd's relations other columns. */
  let shape = 0;

  async function attach(catalog: string): Promise<void> {
    if (attached.has(catalog)) return;
    await engine.run(`ATTACH ':memory:' AS ${catalog}`);
    attached.add(catalog);
  }

  const herdRelations = async (names: readonly string[]): Promise<string[]> => {
    const listed = names.map((name) => `'${name}'`).join(', ');
    const found: Table = await engine.query(
      `SELECT table_name AS name FROM information_schema.tables
       WHERE table_catalog = '${HERD_CATALOG}' AND table_schema = 'main' AND table_name IN (${listed}) ORDER BY 1`,
    );
    return texts(found, 'name').filter((name): name is string => name !== null);
  };
  const mirrors = async (names: readonly string[]): Promise<string[]> =>
    (await herdRelations(names)).map(
      (name) => `CREATE OR REPLACE VIEW ${name} AS SELECT * FROM ${HERD}.${name}`,
    );

  async function build(scene: Scene): Promise<void> {
    const catalog = CATALOGS[scene.side];
    await attach(catalog);
    let from = HERD;
    if (scene.where !== null) {
      await attach(SECOND_HERD);
      await engine.run(`USE ${SECOND_HERD}.main`);
      await layCohort(engine, scene.where);
      from = `${SECOND_HERD}.main`;
    }
    const views = RELATIONS.map(({ name, on: relation }) => {
      const columns = scene.columns.filter(({ on }) => on === relation);
      const select = withColumns(`SELECT * FROM ${from}.${name}`, columns);
      return `CREATE OR REPLACE VIEW ${name} AS ${select}`;
    });
    const mirrored = await mirrors(['foot_visit_all', 'trim_cycle_all', 'today']);
    await engine.run([`USE ${catalog}.main`, ...mirrored, ...views].join(';\n'));
  }

  async function enter(scene: Scene): Promise<void> {
    const key = JSON.stringify([shape, scene.where, scene.columns]);
    const catalog = CATALOGS[scene.side];
    if (standing.get(scene.side) === key) {
      if (at !== catalog) await engine.run(`USE ${catalog}.main`);
    } else {
      standing.delete(scene.side);
      at = null;
      await build(scene);
      standing.set(scene.side, key);
    }
    at = catalog;
  }

  const enterHerd = (): Promise<void> => {
    at = null;
    return useHerd(engine);
  };

  return {
    inHerd: (job) =>
      turns.take('herd', enterHerd, () => {
        shape += 1;
        return job();
      }),
    inHerdAsItStands: (job) => turns.take('herd', enterHerd, job),
    inScene(scene, job, signal) {
      const key = JSON.stringify([scene.side, scene.where, scene.version, scene.columns]);
      return turns.take(
        key,
        () => enter(scene),
        () => {
          signal?.throwIfAborted();
          return job();
        },
      );
    },
  };
}

/** A relation with derived columns added one over the other. */
function withColumns(select: string, columns: readonly PageColumn[]): string {
  return columns.reduce((inner, { name, expression }) => {
    const problem = expressionProblem(expression);
    if (problem) throw new Error(problem.message);
    return `SELECT *, (${expression}\n) AS ${quoteName(name)} FROM (${inner})`;
  }, select);
}
