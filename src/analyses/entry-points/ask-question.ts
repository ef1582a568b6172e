import type { Outcome } from '../../core/outcome.ts';
import { type ClusteredShare, clusteredShare } from '../../stats/design-effect.ts';
import type { ResetFit } from '../../stats/onset-since-reset.ts';
import { BEGAN, ENDED } from '../cycle-kinds.ts';
import { inOrder } from '../foot-order.ts';
import { type AlikeAsked, type AskedCycles, alikeAsked, seenOnsets } from './asked.ts';
import { type Comparison, type ComparisonFit, fitComparison } from './fits.ts';
import type { Exposure } from './options.ts';

/** A question with the cycles it is asked of. */
interface QuestionInput {
  readonly cycles: AskedCycles;
  readonly exposure: Pick<Exposure, 'name' | 'with'>;
  readonly comparisons: readonly Comparison[];
  readonly weeks: number;
}

export interface QuestionAnswer {
  /** In the order of the comparisons. */
  readonly fits: readonly ComparisonFit[];
  /** Share with the outcome at the next visit, as counted: with the exposure, and without. */
  readonly shares: readonly [Outcome<ClusteredShare>, Outcome<ClusteredShare>];
}

/** Needs nothing but its numbers, so that any thread can answer it: one question after the other keeps two at work. */
export async function askQuestion(
  { cycles, exposure, comparisons, weeks }: QuestionInput,
  pause: () => Promise<void>,
): Promise<QuestionAnswer> {
  const alike = alikeAsked(cycles);
  const seen = seenOnsets(cycles);
  const fits: ComparisonFit[] = [];
  let near: ResetFit | null = null;
  for (const comparison of comparisons) {
    await pause();
    const { kinds } = cycles;
    const { told, fit } = fitComparison(
      { comparison, exposure, weeks, kinds, alike, seen: seen[comparison] },
      near,
    );
    fits.push(told);
    near = fit;
  }
  return { fits, shares: countedShares(cycles.nHorses, alike) };
}

function countedShares(nHorses: number, { states, horse, weight }: AlikeAsked): QuestionAnswer['shares'] {
  // For each horse, its cycles that began clear by their state: without the outcome at the next visit, and with it.
  const cycles = [new Float64Array(2 * nHorses), new Float64Array(2 * nHorses)] as const;
  for (let row = 0; row < states.length; row++) {
    const state = states[row]!;
    if ((state & BEGAN) === 0) cycles[state >> 2]![2 * horse[row]! + (state & ENDED)]! += weight[row]!;
  }
  const shareOf = (times: Float64Array): Outcome<ClusteredShare> => {
    const seen = placesSeen(times);
    return clusteredShare({
      success: Uint8Array.from(seen, (place) => place & 1),
      cluster: seen.map((place) => place >> 1),
      weight: inOrder(times, seen),
    });
  };
  return [shareOf(cycles[1]), shareOf(cycles[0])];
}

function placesSeen(times: Float64Array): Int32Array {
  const seen = new Int32Array(times.length);
  let n = 0;
  for (let place = 0; place < times.length; place++) if (times[place]! > 0) seen[n++] = place;
  return seen.slice(0, n);
}
