import { type Unavailable, unavailable } from '../core/outcome.ts';
import { numbers } from '../core/table.ts';
import type { AnalysisContext, AskContext, Behind, Finding } from './analysis.ts';
import { type Condition, chosenCycles, groupAsk } from './cycle-table.ts';
import { counted, horsesText } from './format.ts';
import {
  allOf,
  type Coded,
  type Grouping,
  groupingName,
  groupingWords,
  isKnown,
  requireGroupings,
} from './groups.ts';

/** Which of the groupings asked for the rows can bear, and what becomes of rows without them. */
export interface Recorded {
  readonly kept: readonly Grouping[];
  /** A sentence for each grouping that no row has. */
  readonly notes: readonly Unavailable[];
  /** Rows that lack one of those kept: how many, and which, to be opened and mended. */
  readonly leftOut: readonly Finding[];
}

/**
 * Drops the groupings that none of the rows has recorded, so that an answer never fails for a column the files lack,
 * and tells of the rows that lack one of the others.
 */
export async function recordedGroupings(
  { engine, signal }: Pick<AnalysisContext, 'engine' | 'signal'>,
  relation: Behind['relation'],
  where: string,
  asked: readonly Grouping[],
): Promise<Recorded> {
  if (asked.length === 0) return { kept: [], notes: [], leftOut: [] };
  await requireGroupings(engine, relation, asked);
  const known = await engine.query(
    `SELECT ${asked.map((grouping, k) => `count(*) FILTER (WHERE ${isKnown(grouping)}) AS known_${k}`).join(', ')}, count(*) AS n,
       count(*) FILTER (WHERE ${lacking(asked)}) AS without, count(DISTINCT horse_id) FILTER (WHERE ${lacking(asked)}) AS horses
     FROM ${relation} WHERE ${where}`,
    signal,
  );
  const n = numbers(known, 'n')[0] ?? 0;
  const kept = asked.filter((_, k) => n === 0 || (numbers(known, `known_${k}`)[0] ?? 0) > 0);
  // Most records have them all: then it is known already which rows lack one.
  const among =
    kept.length === asked.length
      ? { n: numbers(known, 'without')[0] ?? 0, horses: numbers(known, 'horses')[0] ?? 0 }
      : await countWithout({ engine, signal }, relation, where, kept);
  return { kept, notes: notesOf(asked, kept), leftOut: rowsWithout(among, relation, where, kept) };
}

/** The same of trim cycles by their columns, which the answer needs as well: `conditions` are those of `where`. */
export async function recordedInCycles(
  context: AskContext,
  conditions: readonly Condition[],
  where: string,
  asked: readonly Grouping[],
): Promise<Recorded> {
  if (asked.length === 0) return { kept: [], notes: [], leftOut: [] };
  await requireGroupings(context.engine, 'trim_cycle', asked);
  const columns = Object.fromEntries(asked.map((grouping) => [grouping, groupAsk(grouping)]));
  const { keep, horse, columns: found } = await chosenCycles(context, { columns, where: conditions });
  const codesOf = (grouping: Grouping): Int32Array => (found.get(grouping) as Coded).codes;
  const kept = asked.filter((grouping) => {
    const codes = codesOf(grouping);
    return keep.length === 0 || keep.some((row) => codes[row]! >= 0);
  });
  const all = kept.map(codesOf);
  const without = keep.filter((row) => all.some((codes) => codes[row]! < 0));
  const among = { n: without.length, horses: new Set(Array.from(without, (row) => horse.codes[row])).size };
  return { kept, notes: notesOf(asked, kept), leftOut: rowsWithout(among, 'trim_cycle', where, kept) };
}

const notesOf = (asked: readonly Grouping[], kept: readonly Grouping[]): Unavailable[] =>
  asked
    .filter((grouping) => !kept.includes(grouping))
    .map((grouping) =>
      unavailable(
        'no-rows',
        `${groupingName(grouping)} is not recorded in these rows, so it is not taken into account.`,
      ),
    );

/** The condition of rows that lack one of the groupings. */
const lacking = (groupings: readonly Grouping[]): string => `NOT (${groupings.map(isKnown).join(' AND ')})`;

const RELATION_WORDS = {
  trim_cycle: ['trim cycle', 'trim cycles'],
  foot_visit: ['foot visit', 'foot visits'],
  spell: ['run of visits', 'runs of visits'],
} as const;

interface Lacking {
  readonly n: number;
  readonly horses: number;
}

async function countWithout(
  { engine, signal }: Pick<AnalysisContext, 'engine' | 'signal'>,
  relation: Behind['relation'],
  where: string,
  kept: readonly Grouping[],
): Promise<Lacking> {
  if (kept.length === 0) return { n: 0, horses: 0 };
  const table = await engine.query(
    `SELECT count(*) AS n, count(DISTINCT horse_id) AS horses FROM ${relation} WHERE ${allOf(where, lacking(kept))}`,
    signal,
  );
  return { n: numbers(table, 'n')[0] ?? 0, horses: numbers(table, 'horses')[0] ?? 0 };
}

function rowsWithout(
  { n, horses: ofHorses }: Lacking,
  relation: Behind['relation'],
  where: string,
  kept: readonly Grouping[],
): Finding[] {
  if (n === 0) return [];
  const without = allOf(where, lacking(kept));
  const horses = horsesText(ofHorses);
  const [one, many] = RELATION_WORDS[relation];
  const lack =
    kept.length === 1
      ? `without ${groupingWords(kept)}`
      : `that ${n === 1 ? 'lacks' : 'lack'} one of ${groupingWords(kept)}`;
  return [
    {
      sentence: `${counted(n, one, many)} of ${horses} ${lack} could not take part in this comparison.`,
      caution: null,
      behind: { relation, where: without, title: `rows ${lack}` },
    },
  ];
}
