import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import { growthSql } from '../../src/analyses/growth/data.ts';
import { optionsSchema as growthOptions } from '../../src/analyses/growth/options.ts';
import { analysisNamed } from '../../src/analyses/index.ts';
import { intervalSql } from '../../src/analyses/interval-effect/data.ts';
import { optionsSchema as intervalOptions } from '../../src/analyses/interval-effect/options.ts';
import { cellAt, type Table } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { demoTables, openHerdOf, TODAY } from '../ten-horses.ts';

export { TODAY };

/** The committed demo herd through intake into an engine of its own; close it after use. */
export async function openDemo(): Promise<Engine> {
  return openHerdOf(await demoTables());
}

/** What each reference is computed from: the options of the shipped analysis, or a table of our own choosing. */
export const GROWTH_OPTIONS = growthOptions.parse({ by: 'breed_type', adjust: ['terrain'] });
export const HERD_OPTIONS = growthOptions.parse({ by: 'none', adjust: ['terrain'] });
export const SPELL_OPTIONS = { problem: 'separation', by: 'breed_type' } as const;
export const INTERVAL_OPTIONS = intervalOptions.parse({});
export const FROG_OPTIONS = intervalOptions.parse({ problem: 'frog_infection', adjust: ['moisture'] });

/**
 * Feet protected or bare at a trim, tender or not at the next visit, by breed type and ground: a table of the form that
 * Mantel and Haenszel pool.
 */
const PROTECTION_SQL = `
  SELECT horse_id, foot_key, breed_type || ', ' || terrain AS stratum,
    (protection <> 'bare')::INTEGER AS exposed, (sensitivity_next >= 1)::INTEGER AS event
  FROM trim_cycle
  WHERE flag IS NULL AND protection IS NOT NULL AND sensitivity_next IS NOT NULL
    AND breed_type IS NOT NULL AND terrain IS NOT NULL
  ORDER BY horse_id, foot_key, visit_date`;

/** Rows by the name of the file that holds them for R. */
export const DEMO_ROWS: Readonly<Record<string, (engine: Engine) => Promise<Table>>> = {
  growth: (engine) => engine.query(growthSql(GROWTH_OPTIONS).sql),
  'growth-herd': (engine) => engine.query(growthSql(HERD_OPTIONS).sql),
  spells: (engine) => firstQuery(engine, 'recurrence', SPELL_OPTIONS),
  interval: (engine) => engine.query(intervalSql(INTERVAL_OPTIONS)),
  frog: (engine) => engine.query(intervalSql(FROG_OPTIONS)),
  protection: (engine) => engine.query(PROTECTION_SQL),
};

class Gathered extends Error {}

/** The rows that an analysis asks the engine for first, without the rest of its work. */
export async function firstQuery(engine: Engine, name: string, options: object): Promise<Table> {
  const analysis = analysisNamed(name);
  let rows: Table | null = null;
  const listening: Engine = {
    ...engine,
    async query(sql, signal) {
      rows = await engine.query(sql, signal);
      throw new Gathered();
    },
  };
  const context = {
    engine: listening,
    today: TODAY,
    lengths: 'mm' as const,
    signal: new AbortController().signal,
    progress: () => undefined,
  };
  try {
    await analysis.run(analysis.options.parse(options), context);
  } catch (error) {
    if (!(error instanceof Gathered)) throw error;
  }
  if (!rows) throw new Error(`${name} asked for no rows`);
  return rows;
}

/** A table as plain CSV, numbers in full, a missing cell empty: what R reads and what the hash is of. */
export function rowsText(table: Table): string {
  const names = Object.keys(table.columns);
  const lines = [names.map((name) => name.replaceAll(' ', '_')).join(',')];
  for (let row = 0; row < table.rowCount; row++) {
    lines.push(
      names
        .map((name) => {
          const cell = cellAt(table, name, row);
          return typeof cell === 'string' && /[",\n]/.test(cell)
            ? `"${cell.replaceAll('"', '""')}"`
            : (cell ?? '');
        })
        .join(','),
    );
  }
  return `${lines.join('\n')}\n`;
}

export function sha256(text: string): string {
  return createHash('sha256').update(text).digest('hex');
}

export function rowsFile(name: string): URL {
  return new URL(`demo/${name}.csv.gz`, import.meta.url);
}

/** The rows as they were when R last saw them. */
export function storedRows(name: string): string {
  return gunzipSync(readFileSync(rowsFile(name))).toString('utf8');
}

export function referenceOf(name: string) {
  return JSON.parse(readFileSync(new URL(`demo/${name}.json`, import.meta.url), 'utf8'));
}
