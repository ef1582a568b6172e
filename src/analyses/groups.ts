import { z } from 'zod';
import { texts } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { literal, quoteName } from '../engine/sql-text.ts';
import type { Counts } from './format.ts';

/** By what an answer can be split in every herd, with the words for it. */
export const GROUPINGS: Readonly<Record<string, string>> = {
  breed_type: 'breed type',
  terrain: 'ground',
  moisture: 'moisture',
  season: 'season',
  foot_end: 'fore or hind',
  foot: 'foot',
  client_id: 'client',
  practitioner_id: 'practitioner',
};

/** One of them, or a derived column of the sheet. */
export type Grouping = string;

const accepted = `${Object.keys(GROUPINGS).join(', ')} or a derived column`;

export const groupingSchema = z.union(
  [z.enum(Object.keys(GROUPINGS) as [string, ...string[]]), z.string().regex(/^[a-z][a-z0-9_]*$/)],
  { error: `must be one of ${accepted}` },
);

/** The words for a grouping: a derived column’s own name. */
export function groupingWords(grouping: Grouping): string {
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
  const derived = groupings.filter((grouping) => !(grouping in GROUPINGS));
  if (derived.length === 0) return;
  const described = await engine.query(`DESCRIBE ${relation}`);
  const types = texts(described, 'column_type');
  const typeOf = new Map(texts(described, 'column_name').map((name, row) => [name, types[row]]));
  for (const grouping of derived) {
    const type = typeOf.get(grouping);
    if (type === undefined) throw new Error(`groups must be by ${accepted}: ${grouping}`);
    if (type !== 'VARCHAR' && type !== 'BOOLEAN') {
      throw new Error(
        `groups must be by a column of texts, or of yes and no; CASE makes classes of a number or a day: ${grouping}`,
      );
    }
  }
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

/** Distinct horses, distinct feet and rows among those that `keep` admits. */
export function countRows(horse: Int32Array, foot: Int32Array, keep: (row: number) => boolean): Counts {
  const horses = new Set<number>();
  const feet = new Set<number>();
  let cycles = 0;
  for (let row = 0; row < horse.length; row++) {
    if (!keep(row)) continue;
    horses.add(horse[row] as number);
    feet.add(foot[row] as number);
    cycles++;
  }
  return { horses: horses.size, feet: feet.size, cycles };
}

/** The SQL condition that a column equals a level. */
export function isLevel(column: string, level: string): string {
  return `${quoteName(column)} = ${literal(level)}`;
}

/** Conditions joined by AND; those that are empty left out. */
export function allOf(...conditions: readonly (string | null)[]): string {
  const given = conditions.filter((condition): condition is string => condition !== null && condition !== '');
  return given.length === 0 ? 'TRUE' : given.map((condition) => `(${condition})`).join(' AND ');
}
