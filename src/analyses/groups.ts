import { z } from 'zod';
import { texts } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { literal, quoteName } from '../engine/sql-text.ts';
import { FOOT_LABELS } from '../herd/vocabularies.ts';
import type { Counts } from './format.ts';

/** By what an answer can be split in every herd, with the words for it. */
export const GROUPINGS: Readonly<Record<string, string>> = {
  breed_type: 'breed type',
  terrain: 'ground',
  moisture: 'moisture',
  season: 'season',
  age_band: 'age',
  foot_end: 'fore or hind',
  foot: 'foot',
  protection: 'protection',
  client_id: 'client',
  practitioner_id: 'practitioner',
};

/** One of them, or a derived column of the sheet. */
export type Grouping = string;

const accepted = `${Object.keys(GROUPINGS).join(', ')} or a derived column`;

const oneOf = (names: readonly string[]) =>
  z.union([z.enum(names as [string, ...string[]]), z.string().regex(/^[a-z][a-z0-9_]*$/)], {
    error: `must be one of ${accepted}`,
  });

export const groupingSchema = oneOf(Object.keys(GROUPINGS));

/** Groupings of spells: what a foot left in is known of a trim, not of a spell. */
export const spellGroupingSchema = oneOf(Object.keys(GROUPINGS).filter((name) => name !== 'protection'));

/** The words for a grouping: a derived column’s own name. */
export function groupingName(grouping: Grouping): string {
  return GROUPINGS[grouping] ?? grouping.replaceAll('_', ' ');
}

/**
 * Makes sure that a relation of the cohort can be split by these: a derived column among them must be there and hold
 * texts, or yes and no. Throws a sentence where not.
 */
export async function requireGroupings(
  engine: Engine,
  relation: 'foot_visit' | 'trim_cycle' | 'spell',
  groupings: readonly Grouping[],
): Promise<void> {
  const derived = groupings.filter(
    // What a foot left in is known of a trim, not of a spell.
    (grouping) => !(grouping in GROUPINGS) || (relation === 'spell' && grouping === 'protection'),
  );
  if (derived.length === 0) return;
  const described = await engine.query(`DESCRIBE ${relation}`);
  const types = texts(described, 'column_type');
  const typeOf = new Map(texts(described, 'column_name').map((name, row) => [name, types[row]]));
  for (const grouping of derived) {
    const type = typeOf.get(grouping);
    if (type === undefined) {
      const known = grouping in GROUPINGS ? accepted.replace(`${grouping}, `, '') : accepted;
      throw new Error(`groups must be by ${known}: ${grouping}`);
    }
    if (type !== 'VARCHAR' && type !== 'BOOLEAN') {
      throw new Error(
        `groups must be by a column of texts, or of yes and no; CASE makes classes of a number or a day: ${grouping}`,
      );
    }
  }
}

/** Bands of age for want of finer knowledge: young, grown, old (common practice). */
const AGE_BAND = `CASE WHEN age_years < 5 THEN 'under 5 years' WHEN age_years < 15 THEN '5 to 14 years' WHEN age_years >= 15 THEN '15 years and over' END`;

const FOOT_WORDS = `CASE foot ${Object.entries(FOOT_LABELS)
  .map(([foot, words]) => `WHEN ${literal(foot)} THEN ${literal(words)}`)
  .join(' ')} END`;

/** SQL whose value is the level as it is shown; any other column stands for itself. */
export function groupSql(name: string): string {
  if (name === 'age_band') return `(${AGE_BAND})`;
  return name === 'foot' ? `(${FOOT_WORDS})` : quoteName(name);
}

/** `ground: soft` */
export function levelName(by: Grouping | 'none', level: string): string {
  return by === 'none' ? level : `${groupingName(by)}: ${level}`;
}

/** Several groupings in a sentence: `breed type, ground and season`. */
export function groupingWords(groupings: readonly Grouping[]): string {
  const words = groupings.map(groupingName);
  return words.length < 2 ? (words[0] ?? '') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}

/** Codes for text values in order of first sight of the sorted levels; −1 for missing. */
export interface Coded {
  readonly levels: readonly string[];
  readonly codes: Int32Array;
}

export function code(values: readonly (string | null)[]): Coded {
  const levels = [...new Set(values)].filter((value): value is string => value !== null).sort();
  const index = new Map(levels.map((level, i) => [level, i]));
  return {
    levels,
    codes: Int32Array.from(values, (value) => (value === null ? -1 : (index.get(value) ?? -1))),
  };
}

/** The level with most rows: what the others are compared with. The first of several. */
export function commonest({ levels, codes }: Coded): number {
  const totals = new Float64Array(levels.length);
  for (const c of codes) if (c >= 0) totals[c]! += 1;
  return totals.indexOf(Math.max(...totals));
}

/** Row numbers of each level, in order. */
export function rowsByLevel({ levels, codes }: Coded): number[][] {
  const rows = levels.map((): number[] => []);
  codes.forEach((c, row) => {
    if (c >= 0) rows[c]!.push(row);
  });
  return rows;
}

/** Distinct horses, distinct feet and rows among those that `keep` admits. */
export function countRows(horse: Int32Array, foot: Int32Array, keep: (row: number) => boolean): Counts {
  return countOf(
    horse,
    foot,
    Array.from(horse.keys()).filter((row) => keep(row)),
  );
}

/** The same of the rows named. */
export function countOf(horse: Int32Array, foot: Int32Array, rows: readonly number[]): Counts {
  const horses = new Set<number>();
  const feet = new Set<number>();
  for (const row of rows) {
    horses.add(horse[row] as number);
    feet.add(foot[row] as number);
  }
  return { horses: horses.size, feet: feet.size, cycles: rows.length };
}

/** The SQL condition that a column or grouping equals a level. */
export function isLevel(column: string, level: string): string {
  return `${groupSql(column)} = ${literal(level)}`;
}

/** The SQL condition that it is one of several. */
export function isOneOf(column: string, levels: readonly string[]): string {
  return `${groupSql(column)} IN (${levels.map((level) => literal(level)).join(', ')})`;
}

/** The SQL condition that a grouping is known. */
export function isKnown(column: string): string {
  return `${groupSql(column)} IS NOT NULL`;
}

/** Conditions joined by AND; those that are empty left out. */
export function allOf(...conditions: readonly (string | null)[]): string {
  const given = conditions.filter((condition): condition is string => condition !== null && condition !== '');
  return given.length === 0 ? 'TRUE' : given.map((condition) => `(${condition})`).join(' AND ');
}
