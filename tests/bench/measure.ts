/** What one piece of work took, each time in the order in which it was run; milliseconds unless said otherwise. */
export interface Spread {
  readonly median: number;
  readonly least: number;
  readonly most: number;
  readonly n: number;
}

export const REPEATS = 5;
/** What takes longer than this each time is repeated three times. */
export const LONG_MS = 20_000;
export const LONG_REPEATS = 3;
/** What takes less can be repeated more often: the engine of the language makes its code quick in the first few runs. */
export const QUICK_MS = 1_000;
export const QUICK_REPEATS = 15;
/** What takes longer still is run once. */
export const ENDLESS_MS = 60_000;

/** The median of an even number of values is the mean of the middle two. Throws on none. */
export function spreadOf(values: readonly number[]): Spread {
  if (values.length === 0) throw new Error('values must not be empty');
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length / 2;
  return {
    median: (sorted[Math.ceil(middle) - 1]! + sorted[Math.floor(middle)]!) / 2,
    least: sorted[0]!,
    most: sorted.at(-1)!,
    n: sorted.length,
  };
}

/** Is another run wanted after these? Three are enough where one took longer than `longMs`, one beyond `endlessMs`. */
export function wantsMore(times: readonly number[], longMs = LONG_MS, endlessMs = ENDLESS_MS): boolean {
  const longest = Math.max(0, ...times);
  return times.length < (longest > endlessMs ? 1 : longest > longMs ? LONG_REPEATS : REPEATS);
}

/**
 * Runs pieces of work in turn, so that whatever else the machine does falls on all of them alike. Five rounds, or three
 * where one of them is long, or one.
 */
export async function inTurn<T extends string>(
  jobs: Readonly<Record<T, () => unknown>>,
): Promise<Record<T, number[]>> {
  const names = Object.keys(jobs) as T[];
  const all = Object.fromEntries(names.map((name) => [name, [] as number[]])) as Record<T, number[]>;
  while (names.every((name) => wantsMore(all[name]))) {
    for (const name of names) {
      const began = performance.now();
      await jobs[name]();
      all[name].push(performance.now() - began);
    }
  }
  return all;
}

/** Runs a job as often as is wanted, more often if it is quick; it gives its own measure (of ms, since that decides how often). */
export async function repeated(job: () => Promise<number>): Promise<number[]> {
  const all: number[] = [];
  const isQuick = (): boolean => all.every((ms) => ms < QUICK_MS);
  while (wantsMore(all) || (isQuick() && all.length < QUICK_REPEATS)) all.push(await job());
  return all;
}

/** The power of n with which a time grows from one size to a larger one `factor` times as large. */
export const growthExponent = (small: number, large: number, factor: number): number =>
  Math.log(large / small) / Math.log(factor);
