import { type Outcome, unavailable } from '../core/outcome.ts';
import { chiSquareCdf } from './distributions.ts';
import { checkedOrder, type RightCensoredData } from './kaplan-meier.ts';
import { dot, factorSpd } from './linear-algebra.ts';

interface LogRank {
  readonly chiSquare: number;
  readonly degreesOfFreedom: number;
  readonly pValue: number;
  /** By group in ascending order of its code. */
  readonly groups: readonly {
    readonly group: number;
    readonly n: number;
    readonly observed: number;
    readonly expected: number;
  }[];
}

/**
 * Log-rank comparison of K groups, with the hypergeometric variance. Rows are taken as independent.
 * Shapes: n rows and n group codes. Throws on unequal lengths. Unavailable: no rows, one group, no events,
 * or no time at which rows of two groups were followed together ('no-overlap').
 * Source: Mantel 1966, Cancer Chemother Rep 50:163–170; Peto & Peto 1972, J R Stat Soc A 135:185–207.
 */
export function logRank(data: RightCensoredData, group: Int32Array): Outcome<LogRank> {
  const order = checkedOrder(data);
  const n = order.length;
  if (group.length !== n) throw new Error(`group must be as long as time: ${group.length}, ${n}`);
  if (n === 0) return unavailable('no-rows', 'There are no rows to compare.');
  const labels = [...new Set(group)].sort((a, b) => a - b);
  const k = labels.length;
  if (k < 2) return unavailable('one-level', 'There is only one group, so there is nothing to compare.');
  const codeOf = new Map(labels.map((label, code) => [label, code]));
  const code = Int32Array.from(group, (label) => codeOf.get(label)!);

  const total = new Float64Array(k);
  for (const c of code) total[c]! += 1;
  const atRisk = Float64Array.from(total);
  const observed = new Float64Array(k);
  const expected = new Float64Array(k);
  const variance = new Float64Array(k * k);
  for (let i = 0; i < n; ) {
    const time = data.time[order[i]!]!;
    const risk = n - i;
    const before = Float64Array.from(atRisk);
    let died = 0;
    for (; i < n && data.time[order[i]!] === time; i += 1) {
      const row = order[i]!;
      atRisk[code[row]!]! -= 1;
      observed[code[row]!]! += data.event[row]!;
      died += data.event[row]!;
    }
    if (died > 0) addEventTime(before, risk, died, expected, variance);
  }
  if (observed.every((o) => o === 0)) {
    return unavailable('no-events', `None of the ${n} spans followed ended in an event.`);
  }
  const reduced = k - 1;
  const block = new Float64Array(reduced * reduced);
  for (let a = 0; a < reduced; a += 1) {
    for (let b = 0; b < reduced; b += 1) block[a * reduced + b] = variance[a * k + b]!;
  }
  const excess = Float64Array.from({ length: reduced }, (_, a) => observed[a]! - expected[a]!);
  const weighted = factorSpd(block, reduced)?.solve(excess);
  if (!weighted) {
    return unavailable('no-overlap', 'The groups were never followed side by side when an event came.');
  }
  const chiSquare = dot(excess, weighted);
  const groups = labels.map((label, c) => ({
    group: label,
    n: total[c]!,
    observed: observed[c]!,
    expected: expected[c]!,
  }));
  return { chiSquare, degreesOfFreedom: reduced, pValue: 1 - chiSquareCdf(chiSquare, reduced), groups };
}

/** Adds one event time's expected counts and hypergeometric covariances. */
function addEventTime(
  atRisk: Float64Array,
  risk: number,
  died: number,
  expected: Float64Array,
  variance: Float64Array,
): void {
  const k = atRisk.length;
  const spread = risk > 1 ? (died * (risk - died)) / (risk - 1) : 0;
  for (let a = 0; a < k; a += 1) {
    const shareA = atRisk[a]! / risk;
    expected[a]! += died * shareA;
    for (let b = 0; b < k; b += 1) {
      variance[a * k + b]! += spread * shareA * ((a === b ? 1 : 0) - atRisk[b]! / risk);
    }
  }
}
