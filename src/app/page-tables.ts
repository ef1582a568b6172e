import type { ResultTable } from '../analyses/analysis.ts';
import { sqlTokens } from '../core/sql-tokens.ts';
import type { Engine } from '../engine/engine.ts';
import { quoteName } from '../engine/sql-text.ts';
import type { Scene } from './scenes.ts';

/**
 * What entries of a page have given, as tables of the scene in use, each under its entry's name. A query's result stands
 * there at once; of an analysis, whose tables are shown from its answer, only what some SQL has named.
 */
interface PageTables {
  /** An analysis has answered: `name.table` for each of these from now on. */
  answered(scene: Scene, name: string, tables: readonly ResultTable[]): Promise<void>;
  /** Nothing stands under this name any more; a query's result may be put there. */
  clear(scene: Scene, name: string): Promise<void>;
  /** A query's result has been put there. */
  stands(scene: Scene, name: string): void;
  /** Before SQL of a page is run: the tables of every analysis whose name it has anywhere. */
  provide(scene: Scene, sql: string): Promise<void>;
}

interface Kept {
  readonly name: string;
  /** Null where a query's result stands. */
  readonly tables: readonly ResultTable[] | null;
  isWritten: boolean;
}

export function pageTables(engine: Engine): PageTables {
  const kept = new Map<string, Kept>();
  const keyOf = ({ side }: Scene, name: string): string => `${side} ${name.toLowerCase()}`;

  /** All at once: the engine does them in this order. */
  async function write({ name }: Kept, tables: readonly ResultTable[]): Promise<void> {
    await Promise.all([
      engine.run(`${dropSql(name)}; CREATE SCHEMA ${quoteName(name)}`),
      ...tables.map(({ name: table, table: rows }) =>
        engine.write(`${quoteName(name)}.${quoteName(table)}`, rows),
      ),
    ]);
  }
  async function clear(scene: Scene, name: string): Promise<void> {
    const key = keyOf(scene, name);
    if (kept.get(key)?.isWritten) await engine.run(dropSql(name));
    kept.delete(key);
  }

  return {
    clear,
    async answered(scene, name, tables) {
      const key = keyOf(scene, name);
      const before = kept.get(key);
      const isWanted = before?.isWritten === true && before.tables !== null;
      if (before?.isWritten && !isWanted) await clear(scene, name);
      const now: Kept = { name, tables, isWritten: isWanted };
      kept.set(key, now);
      // What was named once is likely to be again, by the same query; and a derived column may stand on it.
      if (isWanted) await write(now, tables);
    },
    stands(scene, name) {
      kept.set(keyOf(scene, name), { name, tables: null, isWritten: true });
    },
    async provide(scene, sql) {
      const words = new Set(sqlTokens(sql).map(({ text }) => keyOf(scene, text)));
      for (const [key, each] of kept) {
        if (!words.has(key) || each.isWritten || !each.tables) continue;
        each.isWritten = true;
        await write(each, each.tables);
      }
    },
  };
}

const dropSql = (name: string): string =>
  `DROP TABLE IF EXISTS main.${quoteName(name)}; DROP SCHEMA IF EXISTS ${quoteName(name)} CASCADE`;
