import { type CivilDay, civilDay } from '../../core/civil-day.ts';
import { isUnavailable } from '../../core/outcome.ts';
import { ahead } from '../ahead.ts';
import type { AnalysisContext } from '../analysis.ts';
import { type GrowthForecast, growthForecast } from '../growth/forecast.ts';
import { pacer } from '../pacing.ts';
import { asked, type GrowingOut, type GrowOutOptions } from './options.ts';
import { type GradedAgain, type PastVisits, pastVisits } from './past-visits.ts';
import { chanceOut } from './project.ts';
import { type WearAhead, wearAhead } from './wear-ahead.ts';

/** By which later visits past projections are looked at. */
export const LATER_VISITS = [1, 2, 3] as const;
/** The models are fitted anew for each of so many calendar years, the latest ones. */
const YEARS = 4;
/** A later visit under a week on shows the same state; one over a year on is no routine visit. */
const [SOONEST_DAYS, LATEST_DAYS] = [7, 365];

/** Past visits at which a problem stood, each projected from what had been recorded before its calendar year began. */
export interface PastProjections {
  /** Arrays of length n: one entry a visit and later visit. */
  readonly later: Uint8Array;
  readonly chance: Float64Array;
  /** Seen clear at that later visit or at one before it. */
  readonly clear: Uint8Array;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  /** Foot and day of the visit, for the rows behind. */
  readonly footKey: readonly string[];
  readonly visit: Float64Array;
  readonly problem: readonly GrowingOut[];
}

/** Injuries have no clear visit: only what is graded again can be seen to have cleared. */
const SEEN_AGAIN: readonly GradedAgain[] = ['separation', 'coronet_crack'];

export async function pastProjections(
  context: AnalysisContext,
  options: Pick<GrowOutOptions, 'problem'>,
): Promise<PastProjections> {
  const { signal, progress } = context;
  const pause = pacer(signal);
  const visits: PastVisits[] = [];
  for (const problem of SEEN_AGAIN.filter((one) => asked(options).includes(one))) {
    visits.push(await pastVisits(problem, LATER_VISITS, context));
  }
  const years = [...new Set(visits.flatMap(({ year }) => [...new Set(year)]))]
    .sort((a, b) => a - b)
    .slice(-YEARS);
  const told = roomFor(visits.reduce((sum, { visit }) => sum + visit.length, 0) * LATER_VISITS.length);
  for (const [i, year] of years.entries()) {
    progress(0.3 + (0.6 * i) / years.length, `Looking back at ${year}`);
    const asOf = (civilDay(year, 1, 1)! - 1) as CivilDay;
    const worn = ahead(context, () => wearAhead(context, asOf));
    const growth = await growthForecast(context, { asOf });
    if (isUnavailable(growth)) continue;
    const wear = await worn();
    const forecast = onceEach(growth.foot);
    for (const of of visits) {
      // Visits come by day: those of a year stand together.
      const to = of.year.lastIndexOf(year) + 1;
      for (let row = to === 0 ? 0 : of.year.indexOf(year); row < to; row++) {
        tellRow(told, of, row, { foot: forecast }, wear);
        if (row % ROWS_BETWEEN_PAUSES === 0) await pause();
      }
    }
  }
  return collected(told);
}

/** To ask at every row whether it is time for a pause takes longer than some rows do. */
const ROWS_BETWEEN_PAUSES = 64;

/** What is told of a key is told once: a foot has several visits in a year. */
function onceEach<T>(tell: (key: string) => T): (key: string) => T {
  const known = new Map<string, T>();
  return (key) => {
    const before = known.get(key);
    if (before !== undefined) return before;
    const found = tell(key);
    known.set(key, found);
    return found;
  };
}

/** Columns with room for all that may be told, of which there are `n` rows yet; feet and problems are lists. */
interface Told extends Omit<PastProjections, 'footKey' | 'problem'> {
  n: number;
  readonly footKey: string[];
  readonly problem: GrowingOut[];
}

const roomFor = (most: number): Told => ({
  n: 0,
  later: new Uint8Array(most),
  chance: new Float64Array(most),
  clear: new Uint8Array(most),
  horse: new Int32Array(most),
  foot: new Int32Array(most),
  footKey: [],
  visit: new Float64Array(most),
  problem: [],
});

function tellRow(
  told: Told,
  of: PastVisits,
  row: number,
  growth: Pick<GrowthForecast, 'foot'>,
  wear: WearAhead,
): void {
  const standing = {
    footKey: of.footKey[row]!,
    terrain: of.terrain[row] ?? null,
    distanceMm: of.distance[row]!,
  };
  const chance = chanceOut(standing, of.visit[row]! as CivilDay, growth, wear);
  if (!chance) return;
  let clear = 0;
  for (const [k, later] of LATER_VISITS.entries()) {
    const days = of.days[k]![row]!;
    if (!(days <= LATEST_DAYS)) return;
    clear = Math.max(clear, of.clear[k]![row]!);
    if (days < SOONEST_DAYS) continue;
    const { n } = told;
    told.later[n] = later;
    told.chance[n] = chance(days);
    told.clear[n] = clear;
    told.horse[n] = of.horse[row]!;
    told.foot[n] = of.foot[row]!;
    told.footKey.push(standing.footKey);
    told.visit[n] = of.visit[row]!;
    told.problem.push(of.problem);
    told.n = n + 1;
  }
}

function collected({ n, later, chance, clear, horse, foot, footKey, visit, problem }: Told): PastProjections {
  return {
    later: later.slice(0, n),
    chance: chance.slice(0, n),
    clear: clear.slice(0, n),
    horse: horse.slice(0, n),
    foot: foot.slice(0, n),
    footKey,
    visit: visit.slice(0, n),
    problem,
  };
}
