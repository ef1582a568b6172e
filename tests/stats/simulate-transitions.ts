import type { Random } from '../../src/stats/random.ts';
import type { TransitionData } from '../../src/stats/transition-data.ts';

export interface Truth {
  readonly clusters: number;
  readonly looks: number;
  /** log H at 42 days, effect of the group, exponent, clearing per year. */
  readonly level: number;
  readonly group: number;
  readonly exponent: number;
  readonly clearing: number;
  readonly days: readonly number[];
}

export const TRUTH: Truth = {
  clusters: 200,
  looks: 20,
  level: Math.log(0.25),
  group: 0.5,
  exponent: 1.6,
  clearing: 4,
  days: [28, 35, 42, 49, 56, 63, 70, 77, 84],
};

/** State after `days`, onset clock at 0 at the start: exact, event by event. */
export function walk(random: Random, from: number, days: number, level: number, truth: Truth): number {
  const k = truth.exponent;
  let state = from;
  let t = 0;
  for (;;) {
    if (state === 0) {
      t = 42 * ((t / 42) ** k + random.exponential() / Math.exp(level)) ** (1 / k);
      if (t > days) return 0;
      state = 1;
    } else {
      t += random.exponential(truth.clearing / 365.25);
      if (t > days) return 1;
      state = 0;
    }
  }
}

export function simulateTransitions(random: Random, truth: Truth = TRUTH): TransitionData {
  const n = truth.clusters * truth.looks;
  const start = new Float64Array(n);
  const end = new Float64Array(n);
  const time = new Float64Array(n);
  const onset = new Float64Array(2 * n);
  const cluster = new Int32Array(n);
  for (let g = 0, row = 0; g < truth.clusters; g += 1) {
    let state = random.uniform() < 0.3 ? 1 : 0;
    const group = g % 2;
    for (let look = 0; look < truth.looks; look += 1, row += 1) {
      const days = random.pick(truth.days);
      const next = walk(random, state, days, truth.level + truth.group * group, truth);
      start[row] = state;
      end[row] = next;
      time[row] = days;
      onset.set([1, group], 2 * row);
      cluster[row] = g;
      state = next;
    }
  }
  return {
    start,
    end,
    time,
    onset,
    onsetTerms: ['intercept', 'group'],
    clearing: new Float64Array(n).fill(1),
    clearingTerms: ['clearing'],
    cluster,
  };
}

/** The rows in another order, or some of them, or some twice. */
export function takeRows(data: TransitionData, rows: readonly number[]): TransitionData {
  const one = (values: ArrayLike<number>) => Float64Array.from(rows, (row) => values[row]!);
  const wide = (values: Float64Array, columns: number) =>
    Float64Array.from(rows.flatMap((row) => Array.from(values.subarray(row * columns, (row + 1) * columns))));
  return {
    ...data,
    start: one(data.start),
    end: one(data.end),
    time: one(data.time),
    onset: wide(data.onset, data.onsetTerms.length),
    clearing: wide(data.clearing, data.clearingTerms.length),
    cluster: one(data.cluster),
  };
}
