import { studentCdf, studentMultiplier } from './distributions.ts';

/** How far something should have come after a time: mean, spread, and degrees of freedom of Student's t. */
export interface Progress {
  readonly mean: number;
  readonly sd: number;
  readonly degrees: number;
}

/** When a distance should be covered. An end that lies beyond the limit looked at is null. */
export interface Passage {
  /** The time by which it is as likely covered as not. */
  readonly estimate: number | null;
  readonly low: number;
  readonly high: number | null;
}

/**
 * Time at which a moving normal (Student) quantity reaches `distance`, by turning round its mean and its band: `low` is
 * where the upper edge of the band gets there, `high` where the lower one does. So never below 0, longer upwards than
 * downwards, and open where the lower edge never gets there. `progress` at times from 0 on; `limit` > 0. The same way
 * calibration turns round a fitted line: Osborne 1991, Int Stat Rev 59:309–336.
 */
export function firstPassage(
  progress: (time: number) => Progress,
  distance: number,
  limit: number,
  confidence = 0.95,
): Passage | null {
  checkDistance(distance);
  if (!(limit > 0)) throw new Error(`limit must be positive: ${limit}`);
  const known: Progress[] = [];
  /** At the end of so many steps, for all three: a band lies about its middle. */
  const atStep = (step: number): Progress => (known[step] ??= progress((limit * step) / STEPS));
  /** The middle, or the edge so many times half the band above it. */
  const edge =
    (side: -1 | 0 | 1) =>
    ({ mean, sd, degrees }: Progress): number =>
      side === 0 || sd === 0 ? mean : mean + side * sd * studentMultiplier(degrees, confidence);
  const first = (side: -1 | 0 | 1, from: number): { readonly step: number; readonly time: number } | null => {
    const of = edge(side);
    // What lies lower gets there no sooner.
    for (let step = from; step <= STEPS; step++) {
      if (!(of(atStep(step)) >= distance)) continue;
      return { step, time: step === 0 ? 0 : halved((time) => of(progress(time)), distance, limit, step) };
    }
    return null;
  };
  const low = first(1, 0);
  if (low === null) return null;
  const middle = first(0, low.step);
  const high = middle && first(-1, middle.step);
  return { low: low.time, estimate: middle?.time ?? null, high: high?.time ?? null };
}

/** Chance that a distance is covered after a time. */
export function chancePassed({ mean, sd, degrees }: Progress, distance: number): number {
  checkDistance(distance);
  if (sd === 0) return mean >= distance ? 1 : 0;
  return studentCdf((mean - distance) / sd, degrees);
}

const STEPS = 50;
const TOLERANCE = 1e-4;

/** The first time in a step at whose end f has reached the target, by halving. */
function halved(f: (time: number) => number, target: number, limit: number, step: number): number {
  let [before, after] = [(limit * (step - 1)) / STEPS, (limit * step) / STEPS];
  while (after - before > (TOLERANCE * limit) / STEPS) {
    const middle = (before + after) / 2;
    if (f(middle) >= target) after = middle;
    else before = middle;
  }
  return after;
}

function checkDistance(distance: number): void {
  if (!(distance >= 0 && Number.isFinite(distance)))
    throw new Error(`distance must not be negative: ${distance}`);
}
