import {
  type Estimate,
  isUnavailable,
  type Outcome,
  type Unavailable,
  unavailable,
} from '../core/outcome.ts';
import { type MarkovFit, type MarkovSummary, markovSummary } from '../stats/two-state-markov.ts';

/** Rates of a fit with nothing but its two rates in it. */
export function ratesInPlainWords(fit: Outcome<MarkovFit>): Outcome<MarkovSummary> {
  if (isUnavailable(fit)) return inPlainWords(fit);
  const summary = markovSummary(fit, [1], [1]);
  if (isUnavailable(summary)) return summary;
  return [summary.onsetRate, summary.clearingRate].some(isWideOpen) ? WIDE_OPEN : summary;
}

/** Why a two-state fit of one group gave nothing: with only two rates in it, the terms that run off are the rates. */
function inPlainWords(why: Unavailable): Unavailable {
  return why.unavailable === 'no-overlap'
    ? unavailable(
        'no-overlap',
        'it comes and goes so often from one visit to the next that no steady rates fit these records.',
      )
    : why;
}

/** An interval of a rate that spans more than this many-fold tells nothing, and its middle is made up: our own choice. */
const WIDEST = 1e4;

export function isWideOpen({ low, high }: Pick<Estimate, 'low' | 'high'>): boolean {
  return !(high <= WIDEST * low);
}

export const WIDE_OPEN = unavailable(
  'no-overlap',
  'the records leave open how often it comes and goes between visits, by more than ten-thousandfold, so no figure is given.',
);
