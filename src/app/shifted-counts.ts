import type { HerdCounts } from '../analyses/load-herd.ts';

/** Counts that are sums over horses. */
export type Sums = Readonly<Partial<Record<(typeof SUMS)[number], number>>>;
const SUMS = ['horses', 'feet', 'visits', 'footVisits', 'cycles', 'flaggedCycles'] as const;

/** Counts with what the touched horses were taken out and what they are put in. */
export function shifted(
  all: HerdCounts,
  was: Sums,
  is: Sums,
  days: Pick<HerdCounts, 'firstDay' | 'lastDay'> | null,
): HerdCounts {
  const sums = SUMS.map((name) => [name, all[name] - (was[name] ?? 0) + (is[name] ?? 0)]);
  return { ...all, ...Object.fromEntries(sums), ...days };
}
