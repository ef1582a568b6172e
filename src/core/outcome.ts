/** Why a number was not computed. Fixed codes, so that a page or a script can rely on them. */
export type UnavailableReason =
  | 'no-rows'
  | 'no-events'
  | 'all-events'
  | 'one-cluster'
  | 'one-level'
  | 'equal-intervals'
  | 'collinear'
  | 'no-overlap'
  | 'not-converged';

/** A typed "cannot be computed": a reason code and a plain sentence; never 0, NaN or null in its place. */
export interface Unavailable {
  readonly unavailable: UnavailableReason;
  readonly sentence: string;
}

export type Outcome<T> = T | Unavailable;

export function unavailable(reason: UnavailableReason, sentence: string): Unavailable {
  return { unavailable: reason, sentence };
}

export function isUnavailable<T>(outcome: Outcome<T>): outcome is Unavailable {
  return typeof outcome === 'object' && outcome !== null && 'unavailable' in outcome;
}

/** An estimate with its 95 % interval (unless the caller says otherwise). `stdError` is null where only an interval exists. */
export interface Estimate {
  readonly estimate: number;
  readonly stdError: number | null;
  readonly low: number;
  readonly high: number;
}
