import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { uniformInt } from 'pure-rand/distribution/uniformInt';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/** A seeded stream of random numbers: the same seed gives the same stream on every machine. */
export interface Random {
  /** Uniform on [0, 1). */
  uniform(): number;
  /** Normal with this mean and standard deviation (polar method, Marsaglia & Bray 1964). */
  normal(mean?: number, sd?: number): number;
  /** Exponential with this rate. */
  exponential(rate?: number): number;
  /** Whole number from `from` to `to`, both included. */
  integer(from: number, to: number): number;
  /** One of the values, each as likely. */
  pick<T>(values: readonly T[]): T;
  /** A shuffled copy (Fisher–Yates). */
  shuffle<T>(values: readonly T[]): T[];
  /** How often each of n units is drawn in n draws with replacement: the weights of one bootstrap replicate. */
  multinomialWeights(n: number): Int32Array;
}

/** Stream for a whole-number seed; streams of neighbouring seeds are unrelated. */
export function seededRandom(seed: number): Random {
  if (!Number.isInteger(seed)) throw new Error(`seed must be a whole number: ${seed}`);
  const generator = xoroshiro128plus(scramble(seed));
  let spare: number | null = null;
  const uniform = () => uniformFloat64(generator);

  function standardNormal(): number {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    for (;;) {
      const u = 2 * uniform() - 1;
      const v = 2 * uniform() - 1;
      const s = u * u + v * v;
      if (s > 0 && s < 1) {
        const factor = Math.sqrt((-2 * Math.log(s)) / s);
        spare = v * factor;
        return u * factor;
      }
    }
  }

  function integer(from: number, to: number): number {
    if (!Number.isInteger(from) || !Number.isInteger(to) || to < from) {
      throw new Error(`integer range must be whole and ascending: ${from}, ${to}`);
    }
    return uniformInt(generator, from, to);
  }

  return {
    uniform,
    normal: (mean = 0, sd = 1) => mean + sd * standardNormal(),
    exponential: (rate = 1) => -Math.log1p(-uniform()) / rate,
    integer,
    pick<T>(values: readonly T[]): T {
      if (values.length === 0) throw new Error('values must not be empty: 0');
      return values[integer(0, values.length - 1)]!;
    },
    shuffle<T>(values: readonly T[]): T[] {
      const result = [...values];
      for (let i = result.length - 1; i > 0; i--) {
        const j = integer(0, i);
        [result[i], result[j]] = [result[j]!, result[i]!];
      }
      return result;
    },
    multinomialWeights(n) {
      const weights = new Int32Array(n);
      for (let i = 0; i < n; i++) weights[integer(0, n - 1)]!++;
      return weights;
    },
  };
}

/** 32-bit finaliser (MurmurHash3), so that seeds 1, 2, 3 … start far apart. */
function scramble(seed: number): number {
  let h = (seed ^ Math.floor(seed / 0x100000000)) | 0;
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return (h ^ (h >>> 16)) | 0;
}
