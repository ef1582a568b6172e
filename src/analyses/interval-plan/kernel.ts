/** One limit and the longest interval, in whole days, that keeps it. */
export interface LimitDays<Key extends string = string> {
  readonly key: Key;
  /** 0 where not even a day keeps it; the most allowed where it is not reached. */
  readonly days: number;
  /** Whether a longer interval, within the most allowed, would break it. */
  readonly isReached: boolean;
}

/** Every day from 1 to the last keeps the limit: `bound(day)` is what stays at or below it with the confidence asked for. */
export function longestWithin<Key extends string>(
  key: Key,
  bound: (day: number) => number,
  limit: number,
  mostDays: number,
): LimitDays<Key> {
  let days = 0;
  while (days < mostDays && bound(days + 1) <= limit) days += 1;
  return { key, days, isReached: days < mostDays };
}

/** The same for a bound that only rises with the days, as growth does: found by halving. */
export function longestWithinRising<Key extends string>(
  key: Key,
  bound: (day: number) => number,
  limit: number,
  mostDays: number,
): LimitDays<Key> {
  if (bound(mostDays) <= limit) return { key, days: mostDays, isReached: false };
  let [within, past] = [0, mostDays];
  while (past - within > 1) {
    const middle = (within + past) >> 1;
    if (bound(middle) <= limit) within = middle;
    else past = middle;
  }
  return { key, days: within, isReached: true };
}

export interface PlannedInterval<Limit extends LimitDays> {
  /** Whole days, between the least and the most allowed. */
  readonly days: number;
  /** The limit with the shortest interval, the first of several; null where none is reached. */
  readonly binding: Limit | null;
  /** Whether the limits ask for a shorter interval than the least allowed. */
  readonly isSooner: boolean;
}

/** The longest interval that keeps every limit, held between the least and the most allowed; null without any limit. */
export function plannedInterval<Limit extends LimitDays>(
  limits: readonly Limit[],
  leastDays: number,
  mostDays: number,
): PlannedInterval<Limit> | null {
  if (limits.length === 0) return null;
  const shortest = limits.reduce((a, b) => (b.days < a.days ? b : a));
  const binding = shortest.isReached ? shortest : null;
  const asked = binding ? binding.days : mostDays;
  return { days: Math.max(leastDays, asked), binding, isSooner: asked < leastDays };
}
