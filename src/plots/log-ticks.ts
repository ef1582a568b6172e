/** Figures within a decade, the fullest first. */
const STEPS = [[1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8], [1, 1.5, 2, 3, 5, 7], [1, 2, 5], [1, 3], [1]] as const;

/** A ratio is read against 1, and a decade wants more than its ends. */
const FEWEST = 3;

/**
 * Where a log axis bears figures: round ones, `most` of them at most (three are borne all the same where there are as
 * many), in order; null where so short an axis has no two. `low` and `high` are above 0.
 */
export function logTicks([low, high]: readonly [number, number], most: number): number[] | null {
  const decades = Array.from(
    { length: Math.floor(Math.log10(high)) - Math.floor(Math.log10(low)) + 1 },
    (_, k) => Math.floor(Math.log10(low)) + k,
  );
  const all = STEPS.map((steps) =>
    decades
      .flatMap((decade) => steps.map((step) => Number((step * 10 ** decade).toPrecision(3))))
      .filter((value) => value >= low && value <= high),
  );
  const fits = all.find((ticks) => ticks.length <= Math.max(most, FEWEST)) ?? thinned(all.at(-1)!, most);
  return fits.length >= 2 ? fits : null;
}

/** Of whole decades every second, third and so on, 1 among them where it is there. */
function thinned(powers: readonly number[], most: number): number[] {
  const every = Math.ceil(powers.length / Math.max(most, 2));
  return powers.filter((value) => Math.round(Math.log10(value)) % every === 0);
}
