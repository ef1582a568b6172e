import { isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import type { Coefficient } from '../stats/predictor-fit.ts';
import { isWideOpen } from './two-state-words.ts';

/** A ratio as it is shown; where only a limit can be given, with a null estimate and one end. */
export interface ShownRatio {
  readonly estimate: number | null;
  readonly stdError: number | null;
  readonly low: number | null;
  readonly high: number | null;
}

const LEFT_OPEN = unavailable(
  'no-overlap',
  'these records leave open by more than ten-thousandfold how the two compare, so no figure is given.',
);

/**
 * The ratio that a coefficient on the log scale stands for, its standard error by the delta method. One whose interval
 * spans so much that its middle is made up is none. Throws on a coefficient that was held at a value.
 */
export function shownRatio(coefficient: Coefficient): Outcome<ShownRatio> {
  switch (coefficient.kind) {
    case 'unavailable':
      return coefficient.why;
    case 'limit': {
      const limit = Math.exp(coefficient.limit);
      const oneSided = { estimate: null, stdError: null, low: null, high: null };
      return coefficient.side === 'below' ? { ...oneSided, high: limit } : { ...oneSided, low: limit };
    }
    case 'estimated': {
      const [estimate, low, high] = [coefficient.estimate, coefficient.low, coefficient.high].map(Math.exp);
      if (isWideOpen({ low: low!, high: high! })) return LEFT_OPEN;
      const { stdError } = coefficient;
      return {
        estimate: estimate!,
        stdError: stdError === null ? null : estimate! * stdError,
        low: low!,
        high: high!,
      };
    }
    case 'fixed':
      throw new Error(`a ratio must have been fitted: ${coefficient.term} was held at ${coefficient.value}`);
  }
}

/** Null where there is none. */
export const toldRatio = (ratio: Outcome<ShownRatio>): ShownRatio | null =>
  isUnavailable(ratio) ? null : ratio;
