import { z } from 'zod';
import { type Table, texts } from '../core/table.ts';
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

/** Levels in the order of the alphabet, and for each row the place of its own; −1 for missing. */
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

/** The same of a text column of a table, at once where the texts came with codes. */
export function codeColumn(table: Table, name: string): Coded {
  const values = table.columns[name];
  if (values?.type !== 'text' || !values.coded) return code(texts(table, name));
  const { codes, levels } = values.coded;
  // As they are where the rows were chosen from columns: there can be as many as feet.
  if (isSorted(levels)) return { levels, codes };
  const sorted = [...levels].sort();
  const places = new Map(sorted.map((level, place) => [level, place]));
  return {
    levels: sorted,
    codes: placed(
      codes,
      Int32Array.from(levels, (level) => places.get(level)!),
    ),
  };
}

/** Lists found to be in the order of the alphabet: those of horses and feet are long, and asked about often. */
const sortedLists = new WeakSet<readonly string[]>();

function isSorted(levels: readonly string[]): boolean {
  if (sortedLists.has(levels)) return true;
  for (let k = 1; k < levels.length; k++) if (!(levels[k - 1]! < levels[k]!)) return false;
  sortedLists.add(levels);
  return true;
}

/** Place of a text among levels in the order of the alphabet; −1 where it is none of them. */
export function placeOf(levels: readonly string[], text: string): number {
  let [from, to] = [0, levels.length];
  while (from < to) {
    const middle = (from + to) >> 1;
    if (levels[middle]! < text) from = middle + 1;
    else to = middle;
  }
  return levels[from] === text ? from : -1;
}

/** Codes by another numbering of their levels. */
export const placed = (codes: Int32Array, place: Int32Array): Int32Array =>
  placedInto(new Int32Array(codes.length), codes, place);

/** The same, written into `found`, which may be the codes themselves. */
export function placedInto(found: Int32Array, codes: Int32Array, place: Int32Array): Int32Array {
  for (let row = 0; row < codes.length; row++) {
    const of = codes[row]!;
    found[row] = of < 0 ? -1 : place[of]!;
  }
  return found;
}

/** The same without the levels that no row has. */
export function seenLevels(coded: Coded): Coded {
  const { levels, codes } = coded;
  const isSeen = new Uint8Array(levels.length);
  for (let row = 0; row < codes.length; row++) {
    const of = codes[row]!;
    if (of >= 0) isSeen[of] = 1;
  }
  const place = new Int32Array(levels.length).fill(-1);
  const kept: string[] = [];
  for (let k = 0; k < levels.length; k++) if (isSeen[k] === 1) place[k] = kept.push(levels[k]!) - 1;
  if (kept.length === levels.length) return coded;
  if (sortedLists.has(levels)) sortedLists.add(kept);
  return { levels: kept, codes: placed(codes, place) };
}

/** The level with most rows: what the others are compared with. The first of several. */
export function commonest({ levels, codes }: Coded): number {
  const totals = new Float64Array(levels.length);
  for (let row = 0; row < codes.length; row++) if (codes[row]! >= 0) totals[codes[row]!]! += 1;
  return totals.indexOf(Math.max(...totals));
}

/** Distinct horses, distinct feet and rows of each level. */
export function countByLevel(coded: Coded, horse: Int32Array, foot: Int32Array): Counts[] {
  const [ofHorse, ofFoot] = [lastLevels(horse), lastLevels(foot)];
  return rowsByLevel(coded).map((rows, level) => {
    let [horses, feet] = [0, 0];
    for (const row of rows) {
      if (ofHorse[horse[row]!] !== level) horses += 1;
      ofHorse[horse[row]!] = level;
      if (ofFoot[foot[row]!] !== level) feet += 1;
      ofFoot[foot[row]!] = level;
    }
    return { horses, feet, cycles: rows.length };
  });
}

/** For each code the level in which it was seen last: none. */
function lastLevels(codes: Int32Array): Int32Array {
  let most = -1;
  for (let row = 0; row < codes.length; row++) if (codes[row]! > most) most = codes[row]!;
  return new Int32Array(most + 1).fill(-1);
}

/** Row numbers of each level, in order. */
export function rowsByLevel({ levels, codes }: Coded): number[][] {
  const rows = levels.map((): number[] => []);
  for (let row = 0; row < codes.length; row++) if (codes[row]! >= 0) rows[codes[row]!]!.push(row);
  return rows;
}

/** Distinct horses, distinct feet and rows among those that `keep` admits. */
export function countRows(horse: Int32Array, foot: Int32Array, keep: (row: number) => boolean): Counts {
  const [horses, feet] = [new Seen(horse), new Seen(foot)];
  let cycles = 0;
  for (let row = 0; row < horse.length; row++) {
    if (!keep(row)) continue;
    horses.see(row);
    feet.see(row);
    cycles += 1;
  }
  return { horses: horses.count, feet: feet.count, cycles };
}

/** The same of the rows named. */
export function countOf(horse: Int32Array, foot: Int32Array, rows: readonly number[]): Counts {
  // Marks for all codes cost a look at every row: worth it where most of them are asked for.
  if (rows.length * 4 > horse.length) {
    const [horses, feet] = [new Seen(horse), new Seen(foot)];
    for (const row of rows) {
      horses.see(row);
      feet.see(row);
    }
    return { horses: horses.count, feet: feet.count, cycles: rows.length };
  }
  const [horses, feet] = [new Set<number>(), new Set<number>()];
  for (const row of rows) {
    horses.add(horse[row] as number);
    feet.add(foot[row] as number);
  }
  return { horses: horses.size, feet: feet.size, cycles: rows.length };
}

/** How many distinct codes, from 0, were seen. */
class Seen {
  count = 0;
  private readonly isSeen: Uint8Array;
  constructor(private readonly codes: Int32Array) {
    let most = -1;
    for (let row = 0; row < codes.length; row++) if (codes[row]! > most) most = codes[row]!;
    // A place for -1, where there is one, as for any code.
    this.isSeen = new Uint8Array(most + 2);
  }
  see(row: number): void {
    const place = this.codes[row]! + 1;
    if (this.isSeen[place] === 1) return;
    this.isSeen[place] = 1;
    this.count += 1;
  }
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
