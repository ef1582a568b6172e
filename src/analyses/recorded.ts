import { type Unavailable, unavailable } from '../core/outcome.ts';
import { numbers } from '../core/table.ts';
import type { AnalysisContext, Behind, Finding } from './analysis.ts';
import { counted, horsesText } from './format.ts';
import { allOf, type Grouping, groupingName, groupingWords, isKnown, requireGroupings } from './groups.ts';

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
    `SELECT ${asked.map((grouping, k) => `count(*) FILTER (WHERE ${isKnown(grouping)}) AS known_${k}`).join(', ')}, count(*) AS n
     FROM ${relation} WHERE ${where}`,
    signal,
  );
  const n = numbers(known, 'n')[0] ?? 0;
  const kept = asked.filter((_, k) => n === 0 || (numbers(known, `known_${k}`)[0] ?? 0) > 0);
  const notes = asked
    .filter((grouping) => !kept.includes(grouping))
    .map((grouping) =>
      unavailable(
        'no-rows',
        `${groupingName(grouping)} is not recorded in these rows, so it is not taken into account.`,
      ),
    );
  return { kept, notes, leftOut: await rowsWithout({ engine, signal }, relation, where, kept) };
}

const RELATION_WORDS = {
  trim_cycle: ['trim cycle', 'trim cycles'],
  foot_visit: ['foot visit', 'foot visits'],
  spell: ['run of visits', 'runs of visits'],
} as const;

async function rowsWithout(
  { engine, signal }: Pick<AnalysisContext, 'engine' | 'signal'>,
  relation: Behind['relation'],
  where: string,
  kept: readonly Grouping[],
): Promise<Finding[]> {
  if (kept.length === 0) return [];
  const without = allOf(where, `NOT (${kept.map(isKnown).join(' AND ')})`);
  const table = await engine.query(
    `SELECT count(*) AS n, count(DISTINCT horse_id) AS horses FROM ${relation} WHERE ${without}`,
    signal,
  );
  const n = numbers(table, 'n')[0] ?? 0;
  if (n === 0) return [];
  const horses = horsesText(numbers(table, 'horses')[0] ?? 0);
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
