/** Distinct values with how often each was written. */
export interface Written {
  readonly value: Float64Array;
  readonly n: Float64Array;
}

/** Whether a value is a whole multiple of a step, but for rounding in storage. */
export function isMultiple(value: number, step: number, tolerance = 0.01): boolean {
  return Math.abs(value - Math.round(value / step) * step) < tolerance;
}

/**
 * The coarsest of `steps` (descending) of which nearly all values are multiples: what they seem to be written to.
 * Null where none fits.
 */
export function writtenStep({ value, n }: Written, steps: readonly number[], nearly = 0.95): number | null {
  const total = n.reduce((sum, count) => sum + count, 0);
  if (total === 0) return null;
  for (const step of steps) {
    let on = 0;
    value.forEach((v, i) => {
      if (isMultiple(v, step)) on += n[i]!;
    });
    if (on >= nearly * total) return step;
  }
  return null;
}

/** Spread of values that were counted. */
export function writtenSd({ value, n }: Written): number {
  const total = n.reduce((sum, count) => sum + count, 0);
  const mean = value.reduce((sum, v, i) => sum + v * n[i]!, 0) / total;
  return Math.sqrt(value.reduce((sum, v, i) => sum + n[i]! * (v - mean) ** 2, 0) / total);
}

/**
 * Whether values spread widely enough for each end to be about as frequent as the next: normal values of SD s, taken
 * modulo m, depart from evenness by at most 2·exp(−2π²s²/m²), under 1.5 % from s = m/2 on (the first Fourier term of a
 * wrapped normal; Mardia & Jupp 2000, Directional Statistics, §3.5).
 */
export function isSpreadOver(sd: number, mark: number): boolean {
  return sd >= mark / 2;
}
