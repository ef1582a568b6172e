import { partsOfDay } from '../../core/civil-day.ts';
import { numbers, texts } from '../../core/table.ts';
import { type AskContext, remembered } from '../analysis.ts';
import { groupAsk, holdsAsk } from '../cycle-table.ts';
import { footOrder, inOrder } from '../foot-order.ts';
import type { Coded } from '../groups.ts';
import { type CohortVisits, cohortVisits, horseOf, keyOfFoot } from '../visit-rows.ts';
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

/** Visits at which a problem stood with its distance and that were followed by another: columns of one length. */
export interface PastVisits {
  readonly problem: GradedAgain;
  /** `H101 LF`, and the numbers of horse and foot that `cohortVisits` gives. */
  readonly footKey: readonly string[];
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly terrain: readonly (string | null)[];
  /** Days since 1970, and the calendar year. */
  readonly visit: Int32Array;
  readonly year: Int32Array;
  /** mm. */
  readonly distance: Float64Array;
  /** Of each later visit at which it was graded: days until then, NaN where there was none, and 1 where it was clear. */
  readonly days: readonly Float64Array[];
  readonly clear: readonly Uint8Array[];
}

/** By day and foot, of all horses or of some by lot. `later` are the later visits looked for, from 1. */
export async function pastVisits(
  problem: GradedAgain,
  later: readonly number[],
  context: AskContext,
): Promise<PastVisits> {
  const asks = [groupAsk('terrain'), ...problemColumns(problem), holdsAsk(AFFECTED[problem])];
  const visits = await cohortVisits(context, asks);
  const { places, horseIds, day } = visits;
  const [ground, told, present, distance, affected] = visits.columns as [
    Coded,
    Int8Array,
    Int8Array,
    Float64Array,
    Int8Array,
  ];
  const standing = standingAt(places, present, distance);
  const isDrawn = await drawn(visits, Math.max(1, Math.ceil(standing.n / MOST_VISITS)), context);
  const found = followed(visits, told, standing, later, isDrawn);
  const keys = keysOf(horseIds, inOrder(visits.foot, found.row));
  const order = byDayAndKey(inOrder(day, found.row), keys);
  const row = Uint32Array.from(order, (k) => found.row[k]!);
  const next = found.next.map((rows) => inOrder(rows, order));
  const [visit, foot] = [inOrder(day, row), inOrder(visits.foot, row)];
  return {
    problem,
    footKey: Array.from(order, (k) => keys[k]!),
    horse: foot.map(horseOf),
    foot,
    terrain: Array.from(row, (each) => ground.levels[ground.codes[each]!] ?? null),
    visit,
    year: visit.map((each) => partsOfDay(each).year),
    distance: inOrder(distance, row),
    days: next.map((rows) =>
      Float64Array.from(rows, (each, i) => (each < 0 ? Number.NaN : day[each]! - visit[i]!)),
    ),
    clear: next.map((rows) => Uint8Array.from(rows, (each) => (affected[each] === 1 ? 0 : 1))),
  };
}

interface StandingAt {
  /** 1 for each place at which a problem stands with its distance, of which there are `n`. */
  readonly isAt: Uint8Array;
  readonly n: number;
}

function standingAt(places: Uint32Array, present: Int8Array, distance: Float64Array): StandingAt {
  const isAt = new Uint8Array(places.length);
  let n = 0;
  for (let i = 0; i < places.length; i++) {
    const row = places[i]!;
    if (present[row] !== 1 || Number.isNaN(distance[row]!)) continue;
    isAt[i] = 1;
    n += 1;
  }
  return { isAt, n };
}

/** Rows at which it stands that another graded one follows, by foot; of each the later ones, −1 where there is none. */
function followed(
  { places, foot }: CohortVisits,
  told: Int8Array,
  { isAt, n: most }: StandingAt,
  later: readonly number[],
  isDrawn: (horse: number) => boolean,
): { readonly row: Uint32Array; readonly next: readonly Int32Array[] } {
  const row = new Uint32Array(most);
  const next = later.map(() => new Int32Array(most).fill(-1));
  const graded: number[] = [];
  let n = 0;
  for (let i = 0; i < places.length; ) {
    const at = foot[places[i]!]!;
    graded.length = 0;
    let stands = false;
    for (; i < places.length && foot[places[i]!] === at; i++) {
      if (told[places[i]!] === 1) graded.push(i);
      stands ||= isAt[i] === 1;
    }
    if (!stands || !isDrawn(horseOf(at))) continue;
    for (let k = 0; k + 1 < graded.length; k++) {
      if (isAt[graded[k]!] !== 1) continue;
      row[n] = places[graded[k]!]!;
      for (const [s, step] of later.entries()) {
        if (k + step < graded.length) next[s]![n] = places[graded[k + step]!]!;
      }
      n += 1;
    }
  }
  return { row: row.subarray(0, n), next: next.map((rows) => rows.subarray(0, n)) };
}

/** Of rows that come by foot; each key is written once. */
function keysOf(horseIds: readonly string[], foot: Int32Array): string[] {
  const keys: string[] = [];
  for (let i = 0; i < foot.length; i++) {
    keys.push(i > 0 && foot[i] === foot[i - 1] ? keys[i - 1]! : keyOfFoot(horseIds, foot[i]!));
  }
  return keys;
}

/** By day, those of one day by key. Rows that come by foot are nearly in the order of their keys. */
function byDayAndKey(day: Int32Array, keys: readonly string[]): Uint32Array {
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = 0; i < day.length; i++) {
    least = Math.min(least, day[i]!);
    most = Math.max(most, day[i]!);
  }
  if (day.length === 0) return new Uint32Array(0);
  const order = footOrder(
    day.map((each) => each - least),
    Int32Array.from(day.keys()),
    most - least + 1,
  );
  for (let i = 1; i < order.length; i++) {
    const here = order[i]!;
    let to = i;
    while (to > 0 && day[order[to - 1]!] === day[here] && keys[order[to - 1]!]! > keys[here]!) {
      order[to] = order[to - 1]!;
      to -= 1;
    }
    order[to] = here;
  }
  return order;
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
