/** Times of one piece of work, in milliseconds, with what was used to compare it. */
export interface Times {
  readonly median: number;
  readonly least: number;
  readonly most: number;
}

export const REPEATS = 5;

export function timesOf(all: readonly number[]): Times {
  const sorted = [...all].sort((a, b) => a - b);
  return {
    median: sorted[Math.floor(sorted.length / 2)]!,
    least: sorted[0]!,
    most: sorted.at(-1)!,
  };
}

/** Runs two pieces of work in turn, so that whatever else the machine does falls on both. */
export async function inTurn<T extends string>(
  jobs: Readonly<Record<T, () => unknown>>,
  repeats = REPEATS,
): Promise<Record<T, Times>> {
  const names = Object.keys(jobs) as T[];
  const all = new Map(names.map((name) => [name, [] as number[]]));
  for (let k = 0; k < repeats; k++) {
    for (const name of names) {
      const began = performance.now();
      await jobs[name]();
      all.get(name)!.push(performance.now() - began);
    }
  }
  return Object.fromEntries(names.map((name) => [name, timesOf(all.get(name)!)])) as Record<T, Times>;
}

export const inMs = ({ median, least, most }: Times): string =>
  `${Math.round(median)} (${Math.round(least)}–${Math.round(most)})`;

/** The power of n with which a time grows from one size to a larger. */
export const growthExponent = (small: number, large: number, factor: number): number =>
  Math.log(large / small) / Math.log(factor);
