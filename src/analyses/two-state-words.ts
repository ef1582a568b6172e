import { type Unavailable, unavailable } from '../core/outcome.ts';

/** Why a two-state fit of one group gave nothing: with only two rates in it, the terms that run off are the rates. */
export function inPlainWords(why: Unavailable): Unavailable {
  return why.unavailable === 'no-overlap'
    ? unavailable(
        'no-overlap',
        'it comes and goes so often from one visit to the next that no steady rates fit these records.',
      )
    : why;
}
