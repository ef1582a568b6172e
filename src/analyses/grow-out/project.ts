import type { CivilDay } from '../../core/civil-day.ts';
import { chancePassed, firstPassage, type Passage, type Progress } from '../../stats/first-passage.ts';
import type { FootForecast, GrowthForecast } from '../growth/forecast.ts';
import type { Standing } from './standing.ts';
import type { WearAhead } from './wear-ahead.ts';

/** Whether a projection goes by gross growth, or by net growth alone, which is the slow side. */
export type Basis = 'growth and wear' | 'net growth alone';

export interface Projection {
  readonly standing: Standing;
  /** Days from when it was seen. */
  readonly days: { readonly estimate: number; readonly low: number; readonly high: number | null };
  readonly basis: Basis;
  /** Cycles of the foot's own behind its rate. */
  readonly nCycles: number;
}

/** First and last day of the range; the last null where no late end can be told. */
export const firstDay = ({ standing, days }: Projection): number => standing.seenOn + Math.floor(days.low);
export const lastDay = ({ standing, days }: Projection): number | null =>
  days.high === null ? null : standing.seenOn + Math.ceil(days.high);

/** Whether the whole range lies before the day. */
export function hasPassed(projection: Projection, day: number): boolean {
  const last = lastDay(projection);
  return last !== null && last < day;
}

/** An injury is not looked for again: once its whole range lies behind, it is taken as grown out. */
export const isOver = (projection: Projection, day: number): boolean =>
  projection.standing.problem === 'coronet_injury' && hasPassed(projection, day);

/** Four times the handbooks' renewal of the toe: what takes longer is not told. */
const LONGEST_DAYS = 1461;

interface WallAhead {
  readonly basis: Basis;
  /** How far the wall should have come down so many days after a visit, mm, with the error of one reading. */
  moved(days: number): Progress;
}

/**
 * The wall of one foot from a day on: it moves down by its net growth and what the ground wears off, as far as marks tell
 * that. Where they do not, by net growth alone. Degrees of freedom by Satterthwaite 1946, Biometrics Bull 2:110–114.
 */
function wallAhead(foot: FootForecast, from: CivilDay, terrain: string | null, wear: WearAhead): WallAhead {
  const worn = wear.on(terrain);
  return {
    basis: worn ? 'growth and wear' : 'net growth alone',
    moved: (days) => {
      const net = foot.regrowth(from, days);
      if (!worn) return { mean: net.mm, sd: net.sdMeasured, degrees: net.degrees };
      const months = days / 30;
      const [ofNet, ofWear] = [net.sdMeasured ** 2, (months * (worn.stdError ?? 0)) ** 2];
      const variance = ofNet + ofWear;
      const unsure = ofNet ** 2 / net.degrees + ofWear ** 2 / Math.max(1, worn.nClusters - 1);
      return {
        // No ground adds wall.
        mean: net.mm + months * Math.max(0, worn.estimate),
        sd: Math.sqrt(variance),
        degrees: variance > 0 ? variance ** 2 / unsure : net.degrees,
      };
    },
  };
}

/** When it should be grown out; null where the foot's growth, or the distance, says nothing. */
export function projected(standing: Standing, growth: GrowthForecast, wear: WearAhead): Projection | null {
  const foot = growth.foot(standing.footKey);
  if (!foot || !(standing.distanceMm >= 0)) return null;
  const wall = wallAhead(foot, standing.seenOn, standing.terrain, wear);
  const passage: Passage | null = firstPassage(wall.moved, standing.distanceMm, LONGEST_DAYS);
  if (passage === null || passage.estimate === null) return null;
  const { low, estimate, high } = passage;
  return {
    standing,
    days: { low, estimate, high },
    basis: wall.basis,
    nCycles: growth.nCyclesOf(standing.footKey),
  };
}

/** Chance that growth alone brings it to the ground within so many days of a visit; null as above. */
export function chanceOut(
  { footKey, terrain, distanceMm }: Pick<Standing, 'footKey' | 'terrain' | 'distanceMm'>,
  from: CivilDay,
  growth: Pick<GrowthForecast, 'foot'>,
  wear: WearAhead,
): ((days: number) => number) | null {
  const foot = growth.foot(footKey);
  if (!foot) return null;
  const wall = wallAhead(foot, from, terrain, wear);
  return (days) => chancePassed(wall.moved(days), distanceMm);
}
