import type { ResultTable } from '../analyses/analysis.ts';
import { sqlTokens } from '../core/sql-tokens.ts';
import type { Engine } from '../engine/engine.ts';
import { quoteName } from '../engine/sql-text.ts';
import { nameReferences } from '../pages/sql-references.ts';
import type { Scene } from './scenes.ts';

/**
 * What entries of a page have given, as tables of the scene in use, each under its entry's name. A query's result stands
 * there at once; of an analysis, whose tables are shown from its answer, only what some SQL has named.
 */
export interface PageTables {
  /**
   * An analysis has answered: `name.table` for each of these from now on. What has to be written is on its way to the engine,
   * and nobody need wait for it: the engine works in order, and what went wrong is told to who names it.
   */
  answered(scene: Scene, name: string, tables: readonly ResultTable[]): void;
  /** Nothing stands under this name any more. */
  clear(scene: Scene, name: string): Promise<void>;
  /** A query's result is to be put there: only that of another query may be in its place. */
  giveWay(scene: Scene, name: string): Promise<void>;
  /** Before SQL of a page is run: of every analysis whose name it has anywhere, the tables whose names it has. */
  provide(scene: Scene, sql: string): Promise<void>;
}

interface Kept {
  readonly name: string;
  /** Null where a query's result stands. */
  readonly tables: readonly ResultTable[] | null;
  /** Tables that SQL has named, in lower case: these stand in the engine. */
  readonly wanted: Set<string>;
  /** What was written of it when it came. */
  readonly written: Promise<unknown>;
}

const NOTHING: Promise<unknown> = Promise.resolve();

export function pageTables(engine: Engine): PageTables {
  const kept = new Map<string, Kept>();
  const keyOf = ({ side }: Scene, name: string): string => `${side} ${name.toLowerCase()}`;

  const write = async (name: string, tables: readonly ResultTable[]): Promise<void> => {
    const written = tables.map(({ name: table, table: rows }) =>
      engine.write(`${quoteName(name)}.${quoteName(table)}`, rows),
    );
    await Promise.all(written);
  };
  async function clear(scene: Scene, name: string): Promise<void> {
    const before = kept.get(keyOf(scene, name));
    kept.delete(keyOf(scene, name));
    if (before && (!before.tables || before.wanted.size > 0)) await engine.run(dropSql(name));
  }

  return {
    clear,
    answered(scene, name, tables) {
      const before = kept.get(keyOf(scene, name));
      // What was named once is likely to be again, by the same query; and a derived column may stand on it.
      const wanted = before?.tables ? before.wanted : new Set<string>();
      const again = tables.filter((table) => wanted.has(table.name.toLowerCase()));
      // All at once: the engine does them in this order.
      const done: Promise<void>[] = [];
      // Tables of an answer take the place of those of the last; one that is not there any more must not stay.
      if (again.length < wanted.size || wanted.size === 0) {
        done.push(clear(scene, name));
        if (wanted.size > 0) done.push(engine.run(`CREATE SCHEMA ${quoteName(name)}`));
      }
      const written = Promise.all([...done, write(name, again)]);
      written.catch(() => undefined);
      kept.set(keyOf(scene, name), { name, tables, wanted, written });
    },
    async giveWay(scene, name) {
      if (kept.get(keyOf(scene, name))?.tables !== null) await clear(scene, name);
      kept.set(keyOf(scene, name), { name, tables: null, wanted: new Set(), written: NOTHING });
    },
    async provide(scene, sql) {
      const words = new Set(sqlTokens(sql).map(({ text }) => text.toLowerCase()));
      const references = nameReferences(sql);
      const writing: Promise<unknown>[] = [];
      for (const [key, { name, tables, wanted, written }] of kept) {
        if (!tables || key !== keyOf(scene, name) || !words.has(name.toLowerCase())) continue;
        writing.push(written);
        const known = new Set(tables.map((table) => table.name.toLowerCase()));
        // A table that is not there is refused with the names of those that are.
        const isMisnamed = references.some(
          (each) =>
            each.name.toLowerCase() === name.toLowerCase() && !known.has(each.table?.toLowerCase() ?? ''),
        );
        const more = tables.filter((table) => {
          const lower = table.name.toLowerCase();
          return (isMisnamed || words.has(lower)) && !wanted.has(lower);
        });
        if (more.length === 0) continue;
        if (wanted.size === 0) writing.push(engine.run(`CREATE SCHEMA ${quoteName(name)}`));
        for (const table of more) wanted.add(table.name.toLowerCase());
        writing.push(write(name, more));
      }
      await Promise.all(writing);
    },
  };
}

const dropSql = (name: string): string =>
  `DROP TABLE IF EXISTS main.${quoteName(name)}; DROP SCHEMA IF EXISTS ${quoteName(name)} CASCADE`;
