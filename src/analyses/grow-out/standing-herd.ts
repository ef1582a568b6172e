import type { CivilDay } from '../../core/civil-day.ts';
import { byText } from '../../core/sort-rows.ts';
import type { AskContext } from '../analysis.ts';
import type { ColumnAsk } from '../cycle-columns.ts';
import { groupAsk, holdsAsk, numberAsk } from '../cycle-table.ts';
import type { Coded } from '../groups.ts';
import { type CohortVisits, cohortVisits, footName, horseOf, keyOfFoot } from '../visit-rows.ts';
import type { GrowingOut } from './options.ts';
import { CRACK_FROM_ELSEWHERE, OLDEST_INJURY_DAYS, PROBLEM_SQL, type Standing } from './standing.ts';

/** Told at a visit, standing there, and how far from the ground: columns of the visits. */
export const problemColumns = (problem: GrowingOut): readonly ColumnAsk[] => {
  const { graded, present, distance } = PROBLEM_SQL[problem];
  return [holdsAsk(graded), holdsAsk(present), numberAsk(distance)];
};

/**
 * What `standingSql` gives of one horse, of every foot of the cohort: by problem, horse and foot. Columns of the visits are
 * looked through once; to group them by foot in the engine takes many times as long.
 */
export async function standingInHerd(
  context: AskContext,
  problems: readonly GrowingOut[],
  day: CivilDay,
  within: number,
): Promise<Standing[]> {
  const visits = await cohortVisits(context, [
    ...['horse_name', 'client_id', 'terrain'].map(groupAsk),
    ...problems.flatMap(problemColumns),
  ]);
  const [names, clients, grounds, ...rest] = visits.columns as [Coded, Coded, Coded, ...unknown[]];
  return problems.flatMap((problem, k) => {
    const [graded, present, distance] = rest.slice(3 * k) as [Int8Array, Int8Array, Float64Array];
    const isInjury = problem === 'coronet_injury';
    const from = day - (isInjury ? OLDEST_INJURY_DAYS : within);
    const found: Standing[] = [];
    toldFeet(visits, graded, day, from, ({ rows, latest, told }) => {
      if (isInjury && latest < day - within) return;
      for (const row of rows) {
        if (visits.day[row] !== told || present[row] !== 1) continue;
        const foot = visits.foot[row]!;
        found.push({
          problem,
          footKey: keyOfFoot(visits.horseIds, foot),
          horseId: visits.horseIds[horseOf(foot)]!,
          horseName: names.levels[names.codes[row]!] ?? null,
          clientId: clients.levels[clients.codes[row]!] ?? null,
          foot: footName(foot),
          terrain: grounds.levels[grounds.codes[row]!] ?? null,
          seenOn: told as CivilDay,
          distanceMm: distance[row]!,
          nVisits: rows.length,
        });
      }
    });
    return found.sort((a, b) => byText(a.horseId, b.horseId) || byText(a.footKey, b.footKey));
  });
}

/** Feet and horses with a crack that `otherCracksWhere` selects. */
export async function otherCracksInHerd(
  context: AskContext,
  day: CivilDay,
  within: number,
): Promise<{ readonly feet: number; readonly horses: number }> {
  const { graded } = PROBLEM_SQL.coronet_crack;
  const visits = await cohortVisits(context, [holdsAsk(graded), holdsAsk(CRACK_FROM_ELSEWHERE)]);
  const [told, other] = visits.columns as [Int8Array, Int8Array];
  const feet = new Set<number>();
  toldFeet(visits, told, day, day - within, (foot) => {
    const row = foot.rows.find((each) => visits.day[each] === foot.told && other[each] === 1);
    if (row !== undefined) feet.add(visits.foot[row]!);
  });
  return { feet: feet.size, horses: new Set(Array.from(feet, horseOf)).size };
}

interface ToldFoot {
  /** Its rows in the cohort, in time. */
  readonly rows: Uint32Array;
  /** Day of its last visit by then, and of the last at which it was told. */
  readonly latest: number;
  readonly told: number;
}

/** Every foot that was told by a day, and not before another. */
function toldFeet(
  { places, foot, day }: CohortVisits,
  graded: Int8Array,
  until: CivilDay,
  from: number,
  look: (foot: ToldFoot) => void,
): void {
  for (let i = 0; i < places.length; ) {
    const first = i;
    const at = foot[places[i]!]!;
    let latest = Number.NEGATIVE_INFINITY;
    let told = Number.NEGATIVE_INFINITY;
    for (; i < places.length && foot[places[i]!] === at; i++) {
      const row = places[i]!;
      if (day[row]! > until) continue;
      latest = day[row]!;
      if (graded[row] === 1) told = latest;
    }
    if (told >= from) look({ rows: places.subarray(first, i), latest, told });
  }
}
