import { partsOfDay } from '../../core/civil-day.ts';
import { byText } from '../../core/sort-rows.ts';
import { numbers, texts } from '../../core/table.ts';
import { type AskContext, remembered } from '../analysis.ts';
import { groupAsk, holdsAsk } from '../cycle-table.ts';
import type { Coded } from '../groups.ts';
import { byFoot, type CohortVisits, cohortVisits, horseOf, keyOfFoot } from '../visit-rows.ts';
import type { GrowingOut } from './options.ts';
import { problemColumns } from './standing-herd.ts';

export type GradedAgain = Exclude<GrowingOut, 'coronet_injury'>;

/** Present by its grade alone, wherever it comes from: clear is what is without. */
const AFFECTED: Readonly<Record<GradedAgain, string>> = {
  separation: 'separation_grade >= 1',
  coronet_crack: 'crack_grade >= 1',
};

/** Of a large herd so many visits, about, are looked back at: those of whole horses, by lot. */
const MOST_VISITS = 30_000;

/** Visits at which a problem stood with its distance and that were followed by another: lists of one length. */
export interface PastVisits {
  readonly problem: GradedAgain;
  readonly footKey: readonly string[];
  readonly horseId: readonly string[];
  readonly terrain: readonly (string | null)[];
  /** Days since 1970, and the calendar year. */
  readonly visit: readonly number[];
  readonly year: readonly number[];
  /** mm. */
  readonly distance: readonly number[];
  /** Of each later visit at which it was graded: days until then, NaN where there was none, and 1 where it was clear. */
  readonly days: readonly (readonly number[])[];
  readonly clear: readonly (readonly number[])[];
}

/** By day and foot, of all horses or of some by lot. `later` are the later visits looked for, from 1. */
export async function pastVisits(
  problem: GradedAgain,
  later: readonly number[],
  context: AskContext,
): Promise<PastVisits> {
  const asks = [groupAsk('terrain'), ...problemColumns(problem), holdsAsk(AFFECTED[problem])];
  const visits = await cohortVisits(context, asks);
  const { places, horseIds, foot, day } = visits;
  const [ground, told, present, distance, affected] = visits.columns as [
    Coded,
    Int8Array,
    Int8Array,
    Float64Array,
    Int8Array,
  ];
  const stands = (row: number): boolean => present[row] === 1 && !Number.isNaN(distance[row]!);
  let standing = 0;
  for (let i = 0; i < places.length; i++) if (stands(places[i]!)) standing += 1;
  const isDrawn = await drawn(visits, Math.max(1, Math.ceil(standing / MOST_VISITS)), context);

  const found: { readonly row: number; readonly key: string; readonly next: readonly number[] }[] = [];
  for (const rows of byFoot(visits)) {
    const at = foot[rows[0]!]!;
    if (!rows.some(stands) || !isDrawn(horseOf(at))) continue;
    const graded = rows.filter((row) => told[row] === 1);
    for (let i = 0; i + 1 < graded.length; i++) {
      if (!stands(graded[i]!)) continue;
      const next = later.map((k) => graded[i + k] ?? -1);
      found.push({ row: graded[i]!, key: keyOfFoot(horseIds, at), next });
    }
  }
  found.sort((a, b) => day[a.row]! - day[b.row]! || byText(a.key, b.key));
  return {
    problem,
    footKey: found.map(({ key }) => key),
    horseId: found.map(({ row }) => horseIds[horseOf(foot[row]!)]!),
    terrain: found.map(({ row }) => ground.levels[ground.codes[row]!] ?? null),
    visit: found.map(({ row }) => day[row]!),
    year: found.map(({ row }) => partsOfDay(day[row]!).year),
    distance: found.map(({ row }) => distance[row]!),
    days: later.map((_, k) =>
      found.map(({ row, next }) => (next[k]! < 0 ? Number.NaN : day[next[k]!]! - day[row]!)),
    ),
    clear: later.map((_, k) => found.map(({ next }) => (affected[next[k]!] === 1 ? 0 : 1))),
  };
}

/** Whether a horse, by its place among the ids, is one of those drawn: one in so many, by a number made of its id. */
async function drawn(
  { horseIds }: CohortVisits,
  oneIn: number,
  { engine, signal, remember, rememberHerd }: AskContext,
): Promise<(horse: number) => boolean> {
  if (oneIn === 1) return () => true;
  const of = rememberHerd ? 'foot_visit_all' : 'cohort_visit';
  const lots = await remembered({ remember: rememberHerd ?? remember }, `lots of horses ${of}`, async () => {
    const table = await engine.query(
      `SELECT horse_id, (hash(horse_id) >> 32)::DOUBLE AS high, (hash(horse_id) % ${WORD})::DOUBLE AS low
       FROM (SELECT DISTINCT horse_id FROM ${of}) ORDER BY horse_id`,
      signal,
    );
    const [high, low] = [numbers(table, 'high'), numbers(table, 'low')];
    const place = new Map(texts(table, 'horse_id').map((id, row) => [id, row]));
    const rows = horseIds.map((id) => place.get(id)!);
    return {
      high: Float64Array.from(rows, (row) => high[row]!),
      low: Float64Array.from(rows, (row) => low[row]!),
    };
  });
  // The remainder of a number of 64 bits, by its halves.
  const remainder = (horse: number): number =>
    ((lots.high[horse]! % oneIn) * (WORD % oneIn) + lots.low[horse]!) % oneIn;
  return (horse) => remainder(horse) === 0;
}

const WORD = 2 ** 32;
