import { z } from 'zod';
import { literal, quoteName } from '../engine/sql-text.ts';
import type { Counts } from './format.ts';

/** By what an answer can be split, with the words for it. */
export const GROUPINGS = {
  breed_type: 'breed type',
  terrain: 'ground',
  moisture: 'moisture',
  season: 'season',
  foot_end: 'fore or hind',
  foot: 'foot',
  client_id: 'client',
  practitioner_id: 'practitioner',
} as const;
export type Grouping = keyof typeof GROUPINGS;

export const groupingSchema = z.enum(Object.keys(GROUPINGS) as [Grouping, ...Grouping[]], {
  error: `must be one of ${Object.keys(GROUPINGS).join(', ')}`,
});

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
