/**
 * Times known only to lie in (left, right]: `left = 0` where the event had happened before the first look,
 * `right = Infinity` where it had not been seen by the last, `left === right` where the time itself is known.
 */
export interface IntervalData {
  readonly left: Float64Array;
  readonly right: Float64Array;
  /** How often each row counts; 1 where absent. */
  readonly weight?: Float64Array;
}

export interface IntervalCounts {
  readonly n: number;
  /** Rows with a finite right end: the event is known to have happened. */
  readonly nEvents: number;
  readonly nExact: number;
  readonly nLeftCensored: number;
  readonly nIntervalCensored: number;
  readonly nRightCensored: number;
}

/**
 * Throws on ends that are no interval: that is bad code, since rows are admitted before they get here.
 * Errors: ends of unequal number, not a number, negative, out of order, or a left end of infinity.
 */
export function checkIntervals({ left, right, weight }: IntervalData): void {
  if (left.length !== right.length) {
    throw new Error(`left and right must be of one length: ${left.length}, ${right.length}`);
  }
  if (weight && weight.length !== left.length) {
    throw new Error(`weight must be as long as left: ${weight.length}, ${left.length}`);
  }
  for (let i = 0; i < left.length; i += 1) {
    const l = left[i]!;
    const r = right[i]!;
    if (!(l >= 0 && l < Number.POSITIVE_INFINITY)) throw new Error(`left must be 0 or more and finite: ${l}`);
    if (!(r >= l)) throw new Error(`right must not lie before left: (${l}, ${r}]`);
    if (weight && !(weight[i]! >= 0 && weight[i]! < Number.POSITIVE_INFINITY)) {
      throw new Error(`weight must be 0 or more and finite: ${weight[i]}`);
    }
  }
}

/** How many rows of each kind; rows of weight 0 do not count, other weights are not applied. */
export function countIntervals({ left, right, weight }: IntervalData): IntervalCounts {
  let n = 0;
  let nExact = 0;
  let nLeftCensored = 0;
  let nRightCensored = 0;
  for (let i = 0; i < left.length; i += 1) {
    if (weight && weight[i] === 0) continue;
    n += 1;
    if (right[i] === Number.POSITIVE_INFINITY) nRightCensored += 1;
    else if (left[i] === right[i]) nExact += 1;
    else if (left[i] === 0) nLeftCensored += 1;
  }
  const nEvents = n - nRightCensored;
  const nIntervalCensored = nEvents - nExact - nLeftCensored;
  return { n, nEvents, nExact, nLeftCensored, nIntervalCensored, nRightCensored };
}
