import type { IntervalData } from './interval-data.ts';
import { numberKeys } from './number-keys.ts';

/**
 * Rows reduced to their distinct intervals. Ends are kept as positions on one line that also holds the order
 * at equal times: a known time opens at 3r, right ends close at 3r + 1, and left ends open at 3r + 2,
 * r being the rank of the time. So (1, 2] and (2, 3] touch without overlapping.
 */
export interface DistinctIntervals {
  /** Distinct times, ascending; the last may be Infinity. */
  readonly times: Float64Array;
  readonly openAt: Int32Array;
  readonly closeAt: Int32Array;
  /** For each row the number of its distinct interval. */
  readonly ofRow: Int32Array;
}

/** Reduces n rows to their u distinct intervals, in O(n log n). The ends must have been checked. */
export function distinctIntervals({ left, right }: IntervalData): DistinctIntervals {
  const n = left.length;
  const all = new Float64Array(2 * n);
  all.set(left);
  all.set(right, n);
  all.sort();
  const times = all.filter((t, i) => i === 0 || t !== all[i - 1]);
  const rank = new Map<number, number>();
  times.forEach((t, r) => {
    rank.set(t, r);
  });
  const base = 3 * times.length;
  const numberOf = new Map<number, number>();
  const ofRow = new Int32Array(n);
  const opens: number[] = [];
  const closes: number[] = [];
  for (let i = 0; i < n; i += 1) {
    const open = 3 * rank.get(left[i]!)! + (left[i] === right[i] ? 0 : 2);
    const close = 3 * rank.get(right[i]!)! + 1;
    const code = open * base + close;
    let number = numberOf.get(code);
    if (number === undefined) {
      number = opens.length;
      numberOf.set(code, number);
      opens.push(open);
      closes.push(close);
    }
    ofRow[i] = number;
  }
  return { times, openAt: Int32Array.from(opens), closeAt: Int32Array.from(closes), ofRow };
}

/** Sums row weights (1 each where absent) over the distinct intervals. */
export function distinctWeights(distinct: DistinctIntervals, weight?: Float64Array): Float64Array {
  const sums = new Float64Array(distinct.openAt.length);
  distinct.ofRow.forEach((number, row) => {
    sums[number]! += weight ? weight[row]! : 1;
  });
  return sums;
}

/**
 * The m innermost intervals, the only places where the likelihood can put mass (Peto 1973; Turnbull 1976),
 * and for each of the k distinct runs of them that a row covers, the run and its weight.
 */
export interface Support {
  readonly openAt: Int32Array;
  readonly closeAt: Int32Array;
  /** Run i covers innermost intervals first[i]..last[i]. Runs that cover all of them carry no news and are left out. */
  readonly first: Int32Array;
  readonly last: Int32Array;
  readonly runWeight: Float64Array;
  /** All weight, that of the runs left out included. */
  readonly totalWeight: number;
}

/** Innermost intervals of the distinct intervals of positive weight, in O(u + number of times). */
export function supportOf(distinct: DistinctIntervals, weights: Float64Array): Support {
  const { times, openAt, closeAt } = distinct;
  const positions = 3 * times.length;
  const opens = new Uint8Array(positions);
  const closes = new Uint8Array(positions);
  for (let i = 0; i < weights.length; i += 1) {
    if (weights[i] === 0) continue;
    opens[openAt[i]!] = 1;
    closes[closeAt[i]!] = 1;
  }
  const innerOpen: number[] = [];
  const innerClose: number[] = [];
  // Innermost intervals that open before a position, and that close at or before it.
  const openedBefore = new Int32Array(positions + 1);
  const closedBy = new Int32Array(positions);
  let latestOpen = -1;
  for (let at = 0; at < positions; at += 1) {
    if (opens[at]) latestOpen = at;
    else if (closes[at] && latestOpen >= 0) {
      innerOpen.push(latestOpen);
      innerClose.push(at);
      latestOpen = -1;
    }
    closedBy[at] = innerClose.length;
  }
  for (let at = 0, j = 0; at < positions; at += 1) {
    openedBefore[at] = j;
    if (j < innerOpen.length && innerOpen[j] === at) j += 1;
  }
  return {
    openAt: Int32Array.from(innerOpen),
    closeAt: Int32Array.from(innerClose),
    ...runsOf(distinct, weights, innerOpen.length, openedBefore, closedBy),
  };
}

function runsOf(
  { openAt, closeAt }: DistinctIntervals,
  weights: Float64Array,
  m: number,
  openedBefore: Int32Array,
  closedBy: Int32Array,
): Pick<Support, 'first' | 'last' | 'runWeight' | 'totalWeight'> {
  const news = new Int32Array(weights.length);
  const code = new Float64Array(weights.length);
  let size = 0;
  let totalWeight = 0;
  for (let i = 0; i < weights.length; i += 1) {
    if (weights[i] === 0) continue;
    totalWeight += weights[i]!;
    const a = openedBefore[openAt[i]!]!;
    const b = closedBy[closeAt[i]!]! - 1;
    if (a === 0 && b === m - 1) continue;
    code[size] = a * m + b;
    news[size] = i;
    size += 1;
  }
  const { numberOf, firstRow } = numberKeys(code.subarray(0, size), Number.POSITIVE_INFINITY);
  const runWeight = new Float64Array(firstRow.length);
  for (let k = 0; k < size; k += 1) runWeight[numberOf[k]!]! += weights[news[k]!]!;
  return {
    first: firstRow.map((k) => Math.floor(code[k]! / m)),
    last: firstRow.map((k) => code[k]! % m),
    runWeight,
    totalWeight,
  };
}
