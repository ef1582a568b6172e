import { type Random, seededRandom } from '../src/stats/random.ts';

/** Draws for the invented herd: the seeded stream with the few shapes that the herd needs. */
export interface Draw extends Pick<Random, 'uniform' | 'normal' | 'exponential' | 'pick'> {
  between(low: number, high: number): number;
  chance(probability: number): boolean;
  /** An item with the given weights, which need not sum to 1. */
  weighted<T extends string>(weights: Readonly<Partial<Record<T, number>>>): T;
}

/** One stream per horse and per yard, so that adding a horse changes no other horse. */
export function drawsFor(seed: number): Draw {
  const { uniform, normal, exponential, pick } = seededRandom(seed);
  return {
    uniform,
    normal,
    exponential,
    pick,
    between: (low, high) => low + (high - low) * uniform(),
    chance: (probability) => uniform() < probability,
    weighted: <T extends string>(weights: Readonly<Partial<Record<T, number>>>) => {
      const entries = Object.entries(weights) as [T, number][];
      let left = uniform() * entries.reduce((sum, [, weight]) => sum + weight, 0);
      for (const [item, weight] of entries) {
        left -= weight;
        if (left < 0) return item;
      }
      return entries.at(-1)![0];
    },
  };
}
