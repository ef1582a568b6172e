import { type Estimate, isUnavailable, type Outcome } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import { type ClusteredShare, clusteredShare } from '../../stats/design-effect.ts';
import { type EntryRows, exposedWhere, type SeenOnset, seenIn, usable } from './data.ts';
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
interface CountedShare {
  readonly question: Question;
  readonly exposed: boolean;
  readonly share: Outcome<ClusteredShare>;
  readonly seen: SeenOnset;
  readonly where: string;
}

export function countedShares(rows: EntryRows, question: Question, where: string): CountedShare[] {
  const start = rows.start.get(question.outcome)!;
  const end = rows.end.get(question.outcome)!;
  const state = rows.exposed.get(question.exposure.name)!;
  const atRisk = usable(rows, question, false).filter((row) => start[row] === 0);
  return [true, false].map((exposed) => {
    const keep = atRisk.filter((row) => (state[row] === 1) === exposed);
    return {
      question,
      exposed,
      share: clusteredShare({
        success: Uint8Array.from(keep, (row) => end[row]!),
        cluster: Int32Array.from(keep, (row) => rows.horse[row]!),
      }),
      seen: seenIn(rows, question, keep),
      where: exposedWhere(where, question, exposed),
    };
  });
}

export const withWords = ({ exposure }: Question, exposed: boolean): string =>
  exposed ? exposure.with : exposure.without;

export const riskTitle = ({ outcome }: Question, which: string): string =>
  `trim cycles that began clear of ${problemLabel(outcome)}${which ? `, ${which}` : ''}`;
