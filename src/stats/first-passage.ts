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
  /** The middle, or the edge so many times half the band above it. */
  const edge = (side: -1 | 0 | 1) =>
    firstTime(
      (time) => {
        const { mean, sd, degrees } = progress(time);
        return side === 0 || sd === 0 ? mean : mean + side * sd * studentMultiplier(degrees, confidence);
      },
      distance,
      limit,
    );
  const low = edge(1);
  return low === null ? null : { low, estimate: edge(0), high: edge(-1) };
}

/** Chance that a distance is covered after a time. */
export function chancePassed({ mean, sd, degrees }: Progress, distance: number): number {
  checkDistance(distance);
  if (sd === 0) return mean >= distance ? 1 : 0;
  return studentCdf((mean - distance) / sd, degrees);
}

const STEPS = 50;
const TOLERANCE = 1e-4;

/** The first time in 0…limit at which f reaches the target, by steps and then halving; null where it does not. */
function firstTime(f: (time: number) => number, target: number, limit: number): number | null {
  if (f(0) >= target) return 0;
  for (let step = 1; step <= STEPS; step++) {
    let [before, after] = [(limit * (step - 1)) / STEPS, (limit * step) / STEPS];
    if (f(after) < target) continue;
    while (after - before > (TOLERANCE * limit) / STEPS) {
      const middle = (before + after) / 2;
      if (f(middle) >= target) after = middle;
      else before = middle;
    }
    return after;
  }
  return null;
}

function checkDistance(distance: number): void {
  if (!(distance >= 0 && Number.isFinite(distance)))
    throw new Error(`distance must not be negative: ${distance}`);
}
