import { type CivilDay, civilDay } from '../../core/civil-day.ts';
import { isUnavailable } from '../../core/outcome.ts';
import { numbers, type Table, texts } from '../../core/table.ts';
import { ahead } from '../ahead.ts';
import type { AnalysisContext } from '../analysis.ts';
import { code } from '../groups.ts';
import { type GrowthForecast, growthForecast } from '../growth/forecast.ts';
import { pacer } from '../pacing.ts';
import { asked, type GrowingOut, type GrowOutOptions } from './options.ts';
import { chanceOut } from './project.ts';
import { PROBLEM_SQL } from './standing.ts';
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

/** Of a large herd so many visits, about, are looked back at: those of whole horses, by lot. */
const MOST_VISITS = 30_000;

/** Injuries have no clear visit: only what is graded again can be seen to have cleared. */
const SEEN_AGAIN: readonly GrowingOut[] = ['separation', 'coronet_crack'];

/** Visits at which it stood with its distance, seen again; all horses, or one in `oneIn` of them, by lot. */
function pastSql(problem: GrowingOut, oneIn: number): string {
  const { graded, present, distance } = PROBLEM_SQL[problem];
  const grade = problem === 'separation' ? 'separation_grade' : 'crack_grade';
  const later = LATER_VISITS.flatMap((k) => [
    `(lead(visit_date, ${k}) OVER foot_in_time - visit_date)::DOUBLE AS days_${k}`,
    `(NOT coalesce(lead(${grade}, ${k}) OVER foot_in_time >= 1, FALSE))::INTEGER AS clear_${k}`,
  ]);
  return `
    SELECT * EXCLUDE (present) FROM (
      SELECT foot_key, horse_id, terrain, visit_date, year(visit_date) AS year, ${distance}::DOUBLE AS distance,
        coalesce(${present}, FALSE) AS present, ${later.join(', ')}
      FROM foot_visit WHERE ${graded} AND hash(horse_id) % ${oneIn} = 0
      WINDOW foot_in_time AS (PARTITION BY foot_key ORDER BY visit_date)
    ) WHERE present AND distance IS NOT NULL AND days_1 IS NOT NULL
    ORDER BY visit_date, foot_key`;
}

/** How many visits there are to look back at decides whether every horse is. */
async function oneInOf(problem: GrowingOut, { engine, signal }: AnalysisContext): Promise<number> {
  const { present, distance } = PROBLEM_SQL[problem];
  const table = await engine.query(
    `SELECT count(*) AS n FROM foot_visit WHERE ${present} AND ${distance} IS NOT NULL`,
    signal,
  );
  return Math.max(1, Math.ceil((numbers(table, 'n')[0] ?? 0) / MOST_VISITS));
}

export async function pastProjections(
  context: AnalysisContext,
  options: Pick<GrowOutOptions, 'problem'>,
): Promise<PastProjections> {
  const { engine, signal, progress } = context;
  const pause = pacer(signal);
  const visits: Visits[] = [];
  for (const problem of asked(options).filter((one) => SEEN_AGAIN.includes(one))) {
    const oneIn = await oneInOf(problem, context);
    visits.push(visitsFrom(problem, await engine.query(pastSql(problem, oneIn), signal)));
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
      for (let row = 0; row < of.n; row++) {
        if (of.year[row] !== year) continue;
        tellRow(told, of, row, growth, wear);
        await pause();
      }
    }
  }
  return collected(told);
}

interface Visits {
  readonly problem: GrowingOut;
  readonly n: number;
  readonly footKey: readonly (string | null)[];
  readonly horseId: readonly (string | null)[];
  readonly terrain: readonly (string | null)[];
  readonly visit: Float64Array;
  readonly year: Float64Array;
  readonly distance: Float64Array;
  /** Of each later visit. */
  readonly days: readonly Float64Array[];
  readonly clear: readonly Float64Array[];
}

function visitsFrom(problem: GrowingOut, table: Table): Visits {
  return {
    problem,
    n: table.rowCount,
    footKey: texts(table, 'foot_key'),
    horseId: texts(table, 'horse_id'),
    terrain: texts(table, 'terrain'),
    visit: numbers(table, 'visit_date'),
    year: numbers(table, 'year'),
    distance: numbers(table, 'distance'),
    days: LATER_VISITS.map((k) => numbers(table, `days_${k}`)),
    clear: LATER_VISITS.map((k) => numbers(table, `clear_${k}`)),
  };
}

/** Growing columns: which visit, by which later one, the chance given, whether seen clear. */
interface Told {
  readonly visits: Visits[];
  readonly row: number[];
  readonly later: number[];
  readonly chance: number[];
  readonly clear: number[];
}

function tellRow(told: Told, of: Visits, row: number, growth: GrowthForecast, wear: WearAhead): void {
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
