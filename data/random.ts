import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/** Draws for the invented herd. One stream per horse, so that adding a horse changes no other horse. */
export interface Draw {
  /** Uniform on [0, 1). */
  uniform(): number;
  between(low: number, high: number): number;
  normal(mean: number, sd: number): number;
  /** Exponential with mean 1. */
  exponential(): number;
  chance(probability: number): boolean;
  pick<T>(items: readonly T[]): T;
  /** An item with the given weights, which need not sum to 1. */
  weighted<T extends string>(weights: Readonly<Partial<Record<T, number>>>): T;
}

/** Stream `index` of `seed`; the mixing (Steele, Lea & Flood 2014, finaliser) keeps near-by indices unrelated. */
export function drawsFor(seed: number, index: number): Draw {
  let h = (seed ^ Math.imul(index + 1, 0x9e3779b9)) >>> 0;
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  const generator = xoroshiro128plus((h ^ (h >>> 16)) | 0);
  const uniform = () => uniformFloat64(generator);
  return {
    uniform,
    between: (low, high) => low + (high - low) * uniform(),
    // Box & Muller 1958; one of the pair is enough here.
    normal: (mean, sd) =>
      mean + sd * Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform()),
    exponential: () => -Math.log(1 - uniform()),
    chance: (probability) => uniform() < probability,
    pick: (items) => items[Math.floor(uniform() * items.length)]!,
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
