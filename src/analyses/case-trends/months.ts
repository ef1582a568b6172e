import { civilDay, longDate, partsOfDay } from '../../core/civil-day.ts';

/** Calendar months in a row. */
export interface Months {
  readonly count: number;
  /** First day of each month, and of the one after the last. */
  readonly starts: Float64Array;
  /** Month of the year, 0 to 11, of each. */
  readonly ofYear: Uint8Array;
  /** The month, from 0, that a day belongs to. */
  at(day: number): number;
}

/** All months from that of `first` to that of `last`. */
export function monthsBetween(first: number, last: number): Months {
  const from = partsOfDay(first);
  const to = partsOfDay(last);
  const base = from.year * 12 + from.month - 1;
  const count = to.year * 12 + to.month - base;
  const startOf = (month: number): number => {
    const all = base + month;
    return civilDay(Math.floor(all / 12), (all % 12) + 1, 1)!;
  };
  const starts = Float64Array.from({ length: count + 1 }, (_, month) => startOf(month));
  // Every day's month by table: a million intervals each ask for two.
  const monthOf = new Int32Array(starts[count]! - starts[0]!);
  for (let month = 0; month < count; month += 1) {
    monthOf.fill(month, starts[month]! - starts[0]!, starts[month + 1]! - starts[0]!);
  }
  return {
    count,
    starts,
    ofYear: Uint8Array.from({ length: count }, (_, month) => (base + month) % 12),
    at(day) {
      const month = monthOf[day - starts[0]!];
      if (month === undefined) throw new Error(`day must lie within the months: ${day}`);
      return month;
    },
  };
}

/** `March 2026` */
export const monthWords = (months: Months, month: number): string =>
  longDate(months.starts[month]!).replace(/^\d+ /, '');
