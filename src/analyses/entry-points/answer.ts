import { type Estimate, isUnavailable, type Outcome } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import { type ClusteredShare, clusteredShare } from '../../stats/design-effect.ts';
import { type AskedRows, ENDED, type EntryRows, EXPOSED, exposedWhere, type SeenOnset } from './data.ts';
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
  { horse }: EntryRows,
  { question, states }: AskedRows,
  crude: EntryFit,
): CountedShare[] {
  return [true, false].map((exposed) => {
    const seen = exposed ? crude.exposed : crude.unexposed;
    const success = new Uint8Array(seen.cycles);
    const cluster = new Int32Array(seen.cycles);
    const clear = exposed ? EXPOSED : 0;
    let at = 0;
    for (let row = 0; row < states.length; row++) {
      const state = states[row]!;
      if ((state & ~ENDED) !== clear) continue;
      success[at] = state & ENDED;
      cluster[at++] = horse[row]!;
    }
    return {
      question,
      exposed,
      share: clusteredShare({ success, cluster }),
      seen,
      where: exposedWhere(crude.where, question, exposed),
    };
  });
}

export const withWords = ({ exposure }: Question, exposed: boolean): string =>
  exposed ? exposure.with : exposure.without;

export const riskTitle = ({ outcome }: Question, which: string): string =>
  `trim cycles that began clear of ${problemLabel(outcome)}${which ? `, ${which}` : ''}`;
