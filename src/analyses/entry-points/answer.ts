import { type Estimate, isUnavailable, type Outcome } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import { type ClusteredShare, clusteredShare } from '../../stats/design-effect.ts';
import { type AskedRows, BEGAN, ENDED, type EntryRows, exposedWhere, type SeenOnset } from './data.ts';
import type { EntryFit } from './fits.ts';
import type { EntryOptions, Question } from './options.ts';

/** Everything the tables and sentences of this analysis are made from. */
export interface EntryAnswer {
  readonly options: EntryOptions;
  readonly fits: readonly EntryFit[];
  readonly counted: readonly CountedShare[];
}

/** The risk with and without, at the weeks asked for. */
export function risksOf({ risk }: EntryFit): { with: Estimate; without: Estimate } | null {
  if (isUnavailable(risk)) return null;
  return { with: risk.with.risk[0]!, without: risk.without.risk[0]! };
}

/** Share with the outcome at the next visit, as counted. */
export interface CountedShare {
  readonly question: Question;
  readonly exposed: boolean;
  readonly share: Outcome<ClusteredShare>;
  readonly seen: SeenOnset;
  readonly where: string;
}

/** `crude` is the question's fit with nothing held alike: of the same cycles. */
export function countedShares(
  { nHorses }: EntryRows,
  { question, alike }: AskedRows,
  crude: EntryFit,
): CountedShare[] {
  const { states, horse, weight } = alike;
  // For each horse, its cycles that began clear by their state: without the outcome at the next visit, and with it.
  const cycles = [new Float64Array(2 * nHorses), new Float64Array(2 * nHorses)] as const;
  for (let i = 0; i < states.length; i++) {
    const state = states[i]!;
    if ((state & BEGAN) === 0) cycles[state >> 2]![2 * horse[i]! + (state & ENDED)]! += weight[i]!;
  }
  return [true, false].map((exposed) => {
    const times = cycles[exposed ? 1 : 0];
    const seen = Int32Array.from(times.keys()).filter((place) => times[place]! > 0);
    return {
      question,
      exposed,
      share: clusteredShare({
        success: Uint8Array.from(seen, (place) => place & 1),
        cluster: seen.map((place) => place >> 1),
        weight: Float64Array.from(seen, (place) => times[place]!),
      }),
      seen: exposed ? crude.exposed : crude.unexposed,
      where: exposedWhere(crude.where, question, exposed),
    };
  });
}

export const withWords = ({ exposure }: Question, exposed: boolean): string =>
  exposed ? exposure.with : exposure.without;

export const riskTitle = ({ outcome }: Question, which: string): string =>
  `trim cycles that began clear of ${problemLabel(outcome)}${which ? `, ${which}` : ''}`;
