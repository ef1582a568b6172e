import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import { growthSql } from '../../src/analyses/growth/data.ts';
import { optionsSchema as growthOptions } from '../../src/analyses/growth/options.ts';
import { intervalSql } from '../../src/analyses/interval-effect/data.ts';
import { optionsSchema as intervalOptions } from '../../src/analyses/interval-effect/options.ts';
import { optionsSchema as recurrenceOptions } from '../../src/analyses/recurrence/answer.ts';
import { spellsSql } from '../../src/analyses/recurrence/data.ts';
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

/** The analysis puts its rows in order by itself: R is given them in that order. */
const SPELLS_SQL = `
  SELECT * EXCLUDE (spell_number) FROM (${spellsSql(recurrenceOptions.parse(SPELL_OPTIONS))})
  ORDER BY horse_id, foot_key, spell_number`;

/** Rows by the name of the file that holds them for R. */
export const DEMO_ROWS: Readonly<Record<string, (engine: Engine) => Promise<Table>>> = {
  growth: (engine) => engine.query(growthSql(GROWTH_OPTIONS)),
  'growth-herd': (engine) => engine.query(growthSql(HERD_OPTIONS)),
  spells: (engine) => engine.query(SPELLS_SQL),
  interval: (engine) => engine.query(intervalSql(INTERVAL_OPTIONS)),
  frog: (engine) => engine.query(intervalSql(FROG_OPTIONS)),
  protection: (engine) => engine.query(PROTECTION_SQL),
};

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
