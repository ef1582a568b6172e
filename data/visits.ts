import { partsOfDay } from '../src/core/civil-day.ts';
import type { Draw } from './random.ts';
import { type Moisture, seasonAt, type Terrain, TRUTH } from './truth.ts';
import { PRACTITIONERS, type Yard } from './yards.ts';

/** One visit to one horse, with the ground it lived on since the visit before. */
export interface Visit {
  readonly day: number;
  readonly practitioner: string;
  readonly terrain: Terrain;
  readonly moisture: Moisture;
  /** False for a trim by somebody else while the horse was away: it happened, and no record says so. */
  readonly recorded: boolean;
}

/** The first and the last day of a herd's record. */
export interface Span {
  readonly firstDay: number;
  readonly lastDay: number;
}

/** Away from the yard for over a year, a horse is trimmed elsewhere about this often. */
const ELSEWHERE_DAYS = 60;

/** Days on which a practitioner is at a yard: its usual interval, spread by chance, a little longer in winter. */
export function yardDays(yard: Yard, draw: Draw, span: Span = TRUTH): number[] {
  const days: number[] = [];
  let day = span.firstDay + Math.floor(draw.between(0, yard.meanDays));
  while (day <= span.lastDay) {
    days.push(day);
    const winter = 1 + 0.06 * seasonAt(day, 15);
    day += Math.round(Math.min(77, Math.max(26, draw.normal(yard.meanDays * winter, 7))));
  }
  return days;
}

/**
 * A horse's trims in order of time: the yard's days while it is there, some missed or made up one to three weeks later.
 * Never depends on the state of its feet, so that seeing is not itself informative.
 */
export function horseVisits(
  yard: Yard,
  days: readonly number[],
  draw: Draw,
  { firstDay, lastDay }: Span = TRUTH,
): Visit[] {
  const joins = draw.chance(0.18) ? firstDay + draw.between(0.1, 0.75) * (lastDay - firstDay) : firstDay;
  const leaves = draw.chance(0.14) ? joins + draw.between(0.35, 0.9) * (lastDay - joins) : lastDay;
  // A few horses are away for over a year and come back; a few are seen again within the week.
  const away = draw.chance(0.03) ? joins + draw.between(0.1, 0.6) * (leaves - joins) : leaves + 1;
  const back = away + draw.between(380, 450);
  const seen: number[] = [];
  for (const yardDay of days) {
    if (yardDay < joins || yardDay > leaves) continue;
    if (yardDay > away && yardDay < back) continue;
    let day = yardDay;
    if (draw.chance(0.09)) {
      if (draw.chance(0.35)) continue;
      day += Math.round(draw.between(7, 21));
      if (day > leaves) continue;
    }
    if (seen.length === 0 || day - seen.at(-1)! >= 10) seen.push(day);
    if (draw.chance(0.001) && day + 6 <= leaves) seen.push(day + 3 + Math.floor(draw.between(0, 4)));
  }
  return seen.flatMap((day, i) => {
    const previous = seen[i - 1] ?? day - yard.meanDays;
    const trims = day - previous > 365 ? Math.round((day - previous) / ELSEWHERE_DAYS) : 1;
    return Array.from({ length: trims }, (_, n) => {
      const from = previous + Math.round(((day - previous) * n) / trims);
      const to = previous + Math.round(((day - previous) * (n + 1)) / trims);
      return visitOn(yard, to, from, n === trims - 1, draw);
    });
  });
}

function visitOn(yard: Yard, day: number, previous: number, recorded: boolean, draw: Draw): Visit {
  const middle = (day + previous) / 2;
  return {
    day,
    practitioner: draw.chance(0.9) ? yard.practitioner : draw.pick(PRACTITIONERS),
    terrain: groundAt(yard, middle, draw),
    moisture: moistureAt(yard, middle, draw),
    recorded,
  };
}

function groundAt(yard: Yard, day: number, draw: Draw): Terrain {
  const month = partsOfDay(Math.round(day)).month;
  const usual = month >= 5 && month <= 10 ? yard.summer : yard.winter;
  if (!draw.chance(0.08)) return usual;
  return draw.pick(['soft', 'mixed', 'firm'] as const);
}

/** Wettest in mid-January; cut so that a middling yard is wet in winter and dry in a dry summer. */
function moistureAt(yard: Yard, day: number, draw: Draw): Moisture {
  const score = yard.wetness + 0.9 * seasonAt(day, 15) + draw.normal(0, 0.45);
  return score < -0.6 ? 'dry' : score < 0.7 ? 'mixed' : 'wet';
}
