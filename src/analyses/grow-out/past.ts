import { type CivilDay, civilDay } from '../../core/civil-day.ts';
import { isUnavailable } from '../../core/outcome.ts';
import { ahead } from '../ahead.ts';
import type { AnalysisContext } from '../analysis.ts';
import { code } from '../groups.ts';
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
  const told: Told = { visits: [], row: [], later: [], chance: [], clear: [] };
  for (const [i, year] of years.entries()) {
    progress(0.3 + (0.6 * i) / years.length, `Looking back at ${year}`);
    const asOf = (civilDay(year, 1, 1)! - 1) as CivilDay;
    const worn = ahead(context, () => wearAhead(context, asOf));
    const growth = await growthForecast(context, { asOf });
    if (isUnavailable(growth)) continue;
    const wear = await worn();
    for (const of of visits) {
      for (let row = 0; row < of.footKey.length; row++) {
        if (of.year[row] !== year) continue;
        tellRow(told, of, row, growth, wear);
        await pause();
      }
    }
  }
  return collected(told);
}

/** Growing columns: which visit, by which later one, the chance given, whether seen clear. */
interface Told {
  readonly visits: PastVisits[];
  readonly row: number[];
  readonly later: number[];
  readonly chance: number[];
  readonly clear: number[];
}

function tellRow(told: Told, of: PastVisits, row: number, growth: GrowthForecast, wear: WearAhead): void {
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
    told.visits.push(of);
    told.row.push(row);
    told.later.push(later);
    told.chance.push(chance(days));
    told.clear.push(clear);
  }
}

function collected({ visits, row, later, chance, clear }: Told): PastProjections {
  const footKey = visits.map((of, i) => of.footKey[row[i]!]!);
  return {
    later: Uint8Array.from(later),
    chance: Float64Array.from(chance),
    clear: Uint8Array.from(clear),
    horse: code(visits.map((of, i) => of.horseId[row[i]!]!)).codes,
    foot: code(footKey).codes,
    footKey,
    visit: Float64Array.from(visits, (of, i) => of.visit[row[i]!]!),
    problem: visits.map(({ problem }) => problem),
  };
}
