import { type CivilDay, civilDay, partsOfDay } from '../../core/civil-day.ts';
import { isUnavailable } from '../../core/outcome.ts';
import { numbers, texts } from '../../core/table.ts';
import type { AnalysisContext } from '../analysis.ts';
import { code } from '../groups.ts';
import { growthForecast } from '../growth/forecast.ts';
import { pacer } from '../pacing.ts';
import { asked, type GrowingOut, type GrowOutOptions } from './options.ts';
import { chanceOut } from './project.ts';
import { PROBLEM_SQL } from './standing.ts';
import { wearAhead } from './wear-ahead.ts';

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
  /** Visits without a forecast: nothing had been recorded before their year, or before the years looked at. */
  readonly nWithout: number;
}

/** Injuries have no clear visit: only what is graded again can be seen to have cleared. */
const SEEN_AGAIN: readonly GrowingOut[] = ['separation', 'coronet_crack'];

function pastSql(problem: GrowingOut): string {
  const { graded, present, distance } = PROBLEM_SQL[problem];
  const later = LATER_VISITS.flatMap((k) => [
    `(lead(visit_date, ${k}) OVER foot_in_time - visit_date)::DOUBLE AS days_${k}`,
    `(NOT coalesce(lead(${problem === 'separation' ? 'separation_grade' : 'crack_grade'}, ${k}) OVER foot_in_time >= 1, FALSE))::INTEGER AS clear_${k}`,
  ]);
  return `
    SELECT * EXCLUDE (present) FROM (
      SELECT foot_key, horse_id, terrain, visit_date, ${distance}::DOUBLE AS distance,
        coalesce(${present}, FALSE) AS present, ${later.join(', ')}
      FROM foot_visit WHERE ${graded}
      WINDOW foot_in_time AS (PARTITION BY foot_key ORDER BY visit_date)
    ) WHERE present AND distance IS NOT NULL AND days_1 IS NOT NULL
    ORDER BY visit_date, foot_key`;
}

export async function pastProjections(
  { engine, signal, progress }: AnalysisContext,
  options: Pick<GrowOutOptions, 'problem'>,
): Promise<PastProjections> {
  const pause = pacer(signal);
  const rows: Row[] = [];
  for (const problem of asked(options).filter((one) => SEEN_AGAIN.includes(one))) {
    rows.push(...rowsFrom(problem, await engine.query(pastSql(problem), signal)));
  }
  const years = [...new Set(rows.map(({ visit }) => partsOfDay(visit).year))]
    .sort((a, b) => a - b)
    .slice(-YEARS);
  const told: { row: Row; later: number; chance: number; clear: number }[] = [];
  const forecast = new Set<Row>();
  for (const [i, year] of years.entries()) {
    progress(0.3 + (0.6 * i) / years.length, `Looking back at ${year}`);
    const asOf = (civilDay(year, 1, 1)! - 1) as CivilDay;
    const growth = await growthForecast({ engine, signal }, { asOf });
    if (isUnavailable(growth)) continue;
    const wear = await wearAhead({ engine, signal }, asOf);
    for (const row of rows) {
      if (partsOfDay(row.visit).year !== year) continue;
      const chance = chanceOut(row, row.visit, growth, wear);
      await pause();
      if (!chance) continue;
      forecast.add(row);
      let clear = 0;
      for (const [k, later] of LATER_VISITS.entries()) {
        const days = row.days[k]!;
        if (!(days <= LATEST_DAYS)) break;
        clear = Math.max(clear, row.clear[k]!);
        if (days >= SOONEST_DAYS) told.push({ row, later, chance: chance(days), clear });
      }
    }
  }
  const horse = code(told.map(({ row }) => row.horseId)).codes;
  const foot = code(told.map(({ row }) => row.footKey)).codes;
  return {
    later: Uint8Array.from(told, ({ later }) => later),
    chance: Float64Array.from(told, ({ chance }) => chance),
    clear: Uint8Array.from(told, ({ clear }) => clear),
    horse,
    foot,
    footKey: told.map(({ row }) => row.footKey),
    visit: Float64Array.from(told, ({ row }) => row.visit),
    problem: told.map(({ row }) => row.problem),
    nWithout: rows.length - forecast.size,
  };
}

interface Row {
  readonly problem: GrowingOut;
  readonly footKey: string;
  readonly horseId: string;
  readonly terrain: string | null;
  readonly visit: CivilDay;
  readonly distanceMm: number;
  readonly days: readonly number[];
  readonly clear: readonly number[];
}

function rowsFrom(problem: GrowingOut, table: Parameters<typeof numbers>[0]): Row[] {
  const [key, horse, terrain] = ['foot_key', 'horse_id', 'terrain'].map((name) => texts(table, name));
  const [visit, distance] = ['visit_date', 'distance'].map((name) => numbers(table, name));
  const days = LATER_VISITS.map((k) => numbers(table, `days_${k}`));
  const clear = LATER_VISITS.map((k) => numbers(table, `clear_${k}`));
  return Array.from({ length: table.rowCount }, (_, row) => ({
    problem,
    footKey: key![row]!,
    horseId: horse![row]!,
    terrain: terrain![row] ?? null,
    visit: visit![row]! as CivilDay,
    distanceMm: distance![row]!,
    days: days.map((values) => values[row]!),
    clear: clear.map((values) => values[row]!),
  }));
}
