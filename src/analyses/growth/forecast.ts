import type { CivilDay } from '../../core/civil-day.ts';
import {
  type Estimate,
  isUnavailable,
  type Outcome,
  type Unavailable,
  unavailable,
} from '../../core/outcome.ts';
import { type RateSpread, rateSpreads, withInterval } from '../../stats/nested-predict.ts';
import { fitNestedSlopes } from '../../stats/nested-slopes.ts';
import { meanWave } from '../../stats/seasonal.ts';
import { ahead } from '../ahead.ts';
import { type AskContext, remembered } from '../analysis.ts';
import { cycleTable } from '../cycle-table.ts';
import type { Counts } from '../format.ts';
import { placeOf } from '../groups.ts';
import { coversYear } from './covers-year.ts';
import type { GrowthRows } from './data.ts';
import { growthDesign } from './design.ts';
import {
  CYCLES_ASK,
  type FeetAhead,
  type FootAhead,
  feetAhead,
  footAhead,
  forecastWhere,
  gatherForecast,
} from './forecast-data.ts';
import { type FittedGrowth, type GrowthPlaces, placesOf, pointsOf } from './forecast-points.ts';
import type { GrowthOptions } from './options.ts';

/** What a foot's toe should gain over a time ahead, mm. */
interface Regrowth {
  readonly mm: number;
  /** Spread of the true regrowth: the foot's rate, the herd's mean, the season, and whether the ground changes. */
  readonly sd: number;
  /** The same with the measuring error of one reading. */
  readonly sdMeasured: number;
  /** The same with that of both readings: the spread of a regrowth as it will be recorded. */
  readonly sdRecorded: number;
  /** Degrees of freedom of Student's t for intervals. */
  readonly degrees: number;
}

/** One foot's net toe growth ahead. */
export interface FootForecast {
  regrowth(from: CivilDay, days: number): Regrowth;
}

export interface GrowthForecast {
  /**
   * Every foot the herd knows; one without a usable cycle gets what its horse, or its breed type, says, with the spread
   * between feet and horses. Null for a foot the herd does not know, and where that spread cannot be told.
   */
  foot(footKey: string): FootForecast | null;
  /** Net rate of the toe over a whole year on the ground held, mm per 30 days; null as above. */
  rate(footKey: string): Estimate | null;
  /** Cycles that the model was fitted to. */
  readonly counts: Counts;
  /** Cycles of the foot among them. */
  nCyclesOf(footKey: string): number;
  /** Whether a foot's forecast rests on records of its own. */
  isOwn(footKey: string): boolean;
  /** SQL condition of the cycles of `trim_cycle` that the model was fitted to. */
  readonly where: string;
}

/** The designs tried in turn: a small record cannot tell all apart. */
const DESIGNS: readonly Pick<GrowthOptions, 'by' | 'adjust'>[] = [
  { by: 'breed_type', adjust: ['terrain'] },
  { by: 'breed_type', adjust: [] },
  { by: 'none', adjust: [] },
];

/**
 * Net toe growth of every foot ahead: breed type and ground held, season over the very days ahead, and the foot's own
 * rate drawn towards its horse's and its breed type's (docs/methods/growth.md). The ground ahead is that of the foot's
 * latest visit. `asOf`: as it would have been told on that day, from cycles ended by then. `after`: what the fit, which this
 * thread makes, is to wait for.
 */
export async function growthForecast(
  context: AskContext,
  { asOf, after }: { readonly asOf?: CivilDay; readonly after?: Promise<unknown> } = {},
): Promise<Outcome<GrowthForecast>> {
  const fitted = await remembered(context, `growth ahead ${asOf ?? ''}`, () =>
    fitAhead(context, asOf, after),
  );
  return isUnavailable(fitted) ? fitted : forecastOf(fitted);
}

async function fitAhead(
  context: AskContext,
  asOf: CivilDay | undefined,
  after: Promise<unknown> | undefined,
): Promise<Outcome<Fitted>> {
  // Step by step, so that nothing holds the cycles while their rows are fitted to, nor the rows while feet are asked for.
  const fitting = cycleTable(context, CYCLES_ASK)
    .then(async (cycles) => {
      await after;
      return gatherForecast(cycles, asOf);
    })
    .then((rows) => fitRows(rows));
  const feet = ahead(context, () => feetAhead(context, asOf));
  const fitted = await fitting;
  return isUnavailable(fitted) ? fitted : { ...fitted, feet: await feet(), where: forecastWhere(asOf) };
}

/** What a forecast needs of the rows and their fit: it is kept, and they are many times as large. */
function fitRows(rows: GrowthRows): Outcome<Omit<Fitted, 'feet' | 'where'>> {
  if (rows.days.length === 0) {
    return unavailable(
      'no-rows',
      'no trim cycle here has the toe measured after a trim and again at the next visit, so growth ahead cannot be told.',
    );
  }
  const fitted = fitFirst(rows);
  if (isUnavailable(fitted))
    return unavailable(fitted.unavailable, `growth ahead cannot be told: ${fitted.sentence}`);
  const { horseIds, footKeys, counts } = rows;
  return {
    fit: fitted.fit,
    places: placesOf({ ...fitted, rows }),
    horseIds,
    footKeys,
    counts,
    unitOf: placesAmong(fitted.fit.unitIds, footKeys.length),
    cyclesOf: timesOf(rows.foot, footKeys.length),
    clusterOf: placesAmong(fitted.fit.clusterIds, horseIds.length),
  };
}

/** The fullest design that these records can bear. Season only from nearly a year: ahead it would be made up. */
function fitFirst(rows: GrowthRows): Outcome<Omit<FittedGrowth, 'rows'>> {
  const tries = coversYear(rows) ? [true, false] : [false];
  let why: Unavailable | null = null;
  for (const withSeason of tries) {
    for (const split of DESIGNS) {
      const design = growthDesign(rows, { measure: 'toe', ...split }, withSeason);
      const { days, amount: y, horse: cluster, foot: unit } = rows;
      const fit = fitNestedSlopes({ days, y, x: design.x, cluster, unit }, { names: design.names });
      if (!isUnavailable(fit)) return { design, fit };
      why = fit;
    }
  }
  return why!;
}

interface Fitted extends Pick<GrowthRows, 'horseIds' | 'footKeys' | 'counts'> {
  readonly fit: FittedGrowth['fit'];
  readonly places: GrowthPlaces;
  readonly feet: FeetAhead;
  /** Of each foot of the rows its place in the fit, and its cycles; of each horse its place. */
  readonly unitOf: Int32Array;
  readonly cyclesOf: Int32Array;
  readonly clusterOf: Int32Array;
  readonly where: string;
}

/** Where each code stands among ids; −1 where it is none of them. */
function placesAmong(ids: Int32Array, codes: number): Int32Array {
  const places = new Int32Array(codes).fill(-1);
  for (let place = 0; place < ids.length; place++) places[ids[place]!] = place;
  return places;
}

function timesOf(codes: Int32Array, n: number): Int32Array {
  const times = new Int32Array(n);
  for (let row = 0; row < codes.length; row++) times[codes[row]!]! += 1;
  return times;
}

/** A rate at a point of the design. */
type RateAt = (x: Float64Array) => RateSpread;

function forecastOf(fitted: Fitted): GrowthForecast {
  const { fit, places, horseIds, footKeys, counts, feet, unitOf, cyclesOf, clusterOf, where } = fitted;
  const pointOf = pointsOf(places);
  const spreads = rateSpreads(fit);
  const unitAt = (footKey: string): number => unitOf[placeOf(footKeys, footKey)] ?? -1;

  /** By a foot's own record, its horse's, or the herd's; null where the spread between them cannot be told. */
  const rateAt = (footKey: string, { horseId }: FootAhead): RateAt | null => {
    const unit = unitAt(footKey);
    if (unit >= 0) return spreads.unit(unit);
    const cluster = clusterOf[placeOf(horseIds, horseId)] ?? -1;
    if (cluster >= 0) return fit.estimable.unit ? spreads.newUnit(cluster) : null;
    return fit.estimable.cluster ? spreads.newCluster() : null;
  };
  /** The foot's rate by season, on the ground held or on what may come. */
  const predicting = (
    footKey: string,
  ): ((cos: number, sin: number, isHeld?: boolean) => RateSpread) | null => {
    const foot = footAhead(feet, footKey);
    const rate = foot && rateAt(footKey, foot);
    if (!foot || !rate) return null;
    const at = pointOf(foot);
    return (cos, sin, isHeld = false) => {
      const { x, strange, ground } = at(cos, sin);
      return widened(rate(x), strange + (isHeld ? 0 : ground));
    };
  };
  const forecast = (footKey: string): FootForecast | null => {
    const predict = predicting(footKey);
    if (!predict) return null;
    return {
      regrowth: (from, days) => {
        if (!(days >= 0)) throw new Error(`days must not be negative: ${days}`);
        const { cosine, sine } = meanWave(from, from + days);
        const rate = predict(cosine, sine);
        const z = days / 30;
        const own = (z * rate.stdError) ** 2;
        return {
          mm: z * rate.estimate,
          sd: z * rate.stdError,
          // The spread of one change holds the error of the two readings that it is the difference of.
          sdMeasured: Math.sqrt(own + fit.variances.residual / 2),
          sdRecorded: Math.sqrt(own + fit.variances.residual),
          degrees: rate.degrees,
        };
      },
    };
  };
  return {
    foot: forecast,
    rate: (footKey) => {
      const rate = predicting(footKey)?.(0, 0, true);
      return rate ? withInterval(rate, fit.confidence) : null;
    },
    counts,
    nCyclesOf: (footKey) => (unitAt(footKey) < 0 ? 0 : cyclesOf[placeOf(footKeys, footKey)]!),
    isOwn: (footKey) => unitAt(footKey) >= 0,
    where,
  };
}

function widened(rate: RateSpread, variance: number): RateSpread {
  if (variance === 0) return rate;
  return { ...rate, stdError: Math.sqrt(rate.stdError ** 2 + variance) };
}
