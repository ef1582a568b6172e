import { expect, it } from 'vitest';
import { isWideOpen, ratesInPlainWords } from '../../src/analyses/two-state-words.ts';
import { fitTwoStateMarkov } from '../../src/stats/two-state-markov.ts';

/** Looks a tenth of a year apart: so many stay clear, begin, clear and stay; ten of a horse, which are alike. */
function ratesOf(counts: readonly [number, number, number, number]) {
  const moves = counts.flatMap((n, kind) => Array.from({ length: n }, () => kind));
  const ones = new Float64Array(moves.length).fill(1);
  return ratesInPlainWords(
    fitTwoStateMarkov({
      start: moves.map((kind) => kind >> 1),
      end: moves.map((kind) => kind & 1),
      time: ones.map(() => 0.1),
      onset: ones,
      onsetTerms: ['onset'],
      clearing: ones,
      clearingTerms: ['clearing'],
      cluster: moves.map((_, i) => Math.floor(i / 10)),
    }),
  );
}

it('gives no rate where the next look hardly depends on the one before, and one where it does', () => {
  // P01 = 98/199 and P10 = 100/199 come to 0.995: exp(−(q01 + q10)/10) = 0.005, give or take far more than that.
  expect(ratesOf([101, 98, 100, 99])).toMatchObject({
    unavailable: 'no-overlap',
    sentence: expect.stringContaining('no figure is given'),
  });
  // P01 = 0.1 and P10 = 0.3: q01 + q10 = −10 ln 0.6 = 5.11 a year, a quarter of it onset.
  const { onsetRate, clearingRate } = ratesOf([180, 20, 60, 140]) as Exclude<
    ReturnType<typeof ratesOf>,
    { unavailable: unknown }
  >;
  expect(onsetRate.estimate).toBeCloseTo(5.1083 / 4, 3);
  expect(clearingRate.estimate).toBeCloseTo((3 * 5.1083) / 4, 3);
});

it('takes an interval beyond ten-thousandfold, or without a number, as wide open', () => {
  const interval = (low: number, high: number) => isWideOpen({ low, high });
  expect(interval(0.01, 100)).toBe(false);
  expect(interval(0.009, 100)).toBe(true);
  expect(interval(Number.NaN, 1)).toBe(true);
});
