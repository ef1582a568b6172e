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

/**
 * The same for a bound that only rises with the days, as growth does, and is asked for at as few days as need be: by a
 * straight line through those known, which growth hardly leaves, and by halving where that does not find it soon.
 */
export function longestWithinRising<Key extends string>(
  key: Key,
  bound: (day: number) => number,
  limit: number,
  mostDays: number,
): LimitDays<Key> {
  const last = bound(mostDays);
  if (last <= limit) return { key, days: mostDays, isReached: false };
  let [within, past] = [0, mostDays];
  // Nothing has grown on the day of the trim.
  let [low, high] = [0, last];
  for (let turn = 0; past - within > 1; turn += 1) {
    const line = within + Math.floor(((limit - low) / (high - low)) * (past - within));
    const day = turn < 4 ? Math.min(Math.max(line, within + 1), past - 1) : (within + past) >> 1;
    const value = bound(day);
    if (value <= limit) [within, low] = [day, value];
    else [past, high] = [day, value];
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
