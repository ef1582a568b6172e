import type { Estimate } from '../../core/outcome.ts';
import { studentMultiplier } from '../../stats/distributions.ts';
import { dispersionOf } from '../../stats/poisson.ts';
import type { Looks } from './data.ts';
import { clearPart } from './monthly.ts';
import type { Months } from './months.ts';
import type { TrendOptions } from './options.ts';

/** Months in a row: the first, and the one after the last. */
export interface Span {
  readonly first: number;
  readonly end: number;
}

/** New cases and clear days of each horse at each level over some months: entries of arrays of one length. */
interface HorseYears {
  readonly horse: Int32Array;
  readonly level: Int32Array;
  readonly cases: Float64Array;
  readonly days: Float64Array;
}

export function horseYears(
  looks: Looks,
  months: Months,
  { first, end }: Span,
  { dating }: Pick<TrendOptions, 'dating'>,
): HorseYears {
  const [from, to] = [months.starts[first]!, months.starts[end]!];
  const numberOf = new Map<number, number>();
  const horse: number[] = [];
  const level: number[] = [];
  const cases: number[] = [];
  const days: number[] = [];
  for (let i = 0; i < looks.from.length; i += 1) {
    if (looks.level[i]! < 0) continue;
    const part = clearPart(looks, i, from, to);
    const isSeen = looks.before[i] === 0 && looks.after[i] === 1 && looks.to[i]! >= from && looks.to[i]! < to;
    if (!part && !isSeen) continue;
    const key = looks.level[i]! * looks.horses + looks.horse[i]!;
    let at = numberOf.get(key);
    if (at === undefined) {
      at = horse.length;
      numberOf.set(key, at);
      horse.push(looks.horse[i]!);
      level.push(looks.level[i]!);
      cases.push(0);
      days.push(0);
    }
    cases[at]! += dating === 'spread' ? (part?.cases ?? 0) : isSeen ? 1 : 0;
    days[at]! += part?.days ?? 0;
  }
  return {
    horse: Int32Array.from(horse),
    level: Int32Array.from(level),
    cases: Float64Array.from(cases),
    days: Float64Array.from(days),
  };
}

/**
 * How much more the cases of whole years vary than chance. A horse that is prone is so in every month, so that over a
 * year the feet and months of one horse pull further apart than those of one month do: over horses, cases against those
 * that their clear days have at the rate of their level and year.
 */
export function yearDispersion(years: readonly HorseYears[]): number {
  const observed: number[] = [];
  const expected: number[] = [];
  let fitted = 0;
  for (const { level, cases, days } of years) {
    const sums = new Map<number, { cases: number; days: number }>();
    level.forEach((of, i) => {
      const sum = sums.get(of) ?? { cases: 0, days: 0 };
      sum.cases += cases[i]!;
      sum.days += days[i]!;
      sums.set(of, sum);
    });
    fitted += sums.size;
    level.forEach((of, i) => {
      const sum = sums.get(of)!;
      observed.push(cases[i]!);
      expected.push(sum.days > 0 ? (days[i]! * sum.cases) / sum.days : 0);
    });
  }
  return dispersionOf(observed, expected, fitted);
}

/**
 * The rate of one year over that of another; null where either had no case. The error is linearised by horse, whose two
 * years are set against each other, but never less than that of the counts; Student's t on horses less 1, on the log
 * scale. Cochran 1977, Sampling Techniques, ch. 6 (from memory).
 */
export function yearsRatio(latest: HorseYears, before: HorseYears, dispersion: number): Estimate | null {
  const sum = (values: Float64Array): number => values.reduce((total, value) => total + value, 0);
  const [casesA, casesB] = [sum(latest.cases), sum(before.cases)];
  const [daysA, daysB] = [sum(latest.days), sum(before.days)];
  if (!(casesA > 0 && casesB > 0 && daysA > 0 && daysB > 0)) return null;
  const apart = new Map<number, number>();
  const add = ({ horse, cases, days }: HorseYears, rate: number, weight: number): void => {
    horse.forEach((id, i) => {
      apart.set(id, (apart.get(id) ?? 0) + weight * (cases[i]! - rate * days[i]!));
    });
  };
  add(latest, casesA / daysA, 1 / casesA);
  add(before, casesB / daysB, -1 / casesB);
  if (apart.size < 2) return null;
  let squares = 0;
  for (const value of apart.values()) squares += value * value;
  const counts = dispersion * (1 / casesA + 1 / casesB);
  const error = Math.sqrt(Math.max((apart.size / (apart.size - 1)) * squares, counts));
  const estimate = casesA / daysA / (casesB / daysB);
  const reach = studentMultiplier(apart.size - 1) * error;
  return {
    estimate,
    stdError: estimate * error,
    low: estimate * Math.exp(-reach),
    high: estimate * Math.exp(reach),
  };
}
