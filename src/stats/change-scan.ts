import { type Estimate, type Outcome, unavailable } from '../core/outcome.ts';
import { studentMultiplier } from './distributions.ts';
import { seededRandom } from './random.ts';

/** Observed and expected counts by cluster and month: one entry for each cluster and month in which it had either. */
export interface ScanData {
  readonly cluster: Int32Array;
  /** From 0 to `months` − 1. */
  readonly month: Int32Array;
  readonly observed: Float64Array;
  readonly expected: Float64Array;
  readonly months: number;
}

interface ScanOptions {
  /** Months that either side must hold. Default 3. */
  readonly fewest?: number;
  /** Sign changes drawn. Default 499. */
  readonly draws?: number;
  readonly seed?: number;
}

export interface ChangeScan {
  /** First month after the change. */
  readonly month: number;
  /** Observed over expected after against before; interval on the log scale, by cluster. */
  readonly ratio: Estimate;
  /** Twice the gain in Poisson log-likelihood of two levels over one, at each month that was tried. */
  readonly gain: Float64Array;
  /** Share of sign-changed records whose scan found as much: (1 + found)/(1 + draws). */
  readonly p: number;
  readonly draws: number;
  readonly nClusters: number;
}

/**
 * Looks for one change of level: at each month the Poisson log-likelihood of two levels of observed over expected
 * against one, the best month being kept. How often chance finds as much is learned by giving the residuals of every
 * cluster, all its months together, a sign by lot (so that what is alike within a cluster stays together), and
 * scanning again by the score form of the statistic. Worsley 1986, Biometrika 73:91–104 (scan); Wu 1986, Ann Stat
 * 14:1261–1295, and Cameron, Gelbach & Miller 2008, Rev Econ Stat 90:414–427 (signs by cluster); all from memory.
 * Typed `no-rows` (fewer months than two sides need), `no-events`, `one-cluster` (fewer than 5 clusters).
 */
export function changeScan(data: ScanData, options: ScanOptions = {}): Outcome<ChangeScan> {
  const { months, cluster, month, observed, expected } = data;
  const fewest = options.fewest ?? 3;
  const draws = options.draws ?? 499;
  if (months < 2 * fewest) return unavailable('no-rows', 'there are too few months to look for a change.');
  const o = new Float64Array(months);
  const e = new Float64Array(months);
  for (let i = 0; i < month.length; i += 1) {
    o[month[i]!]! += observed[i]!;
    e[month[i]!]! += expected[i]!;
  }
  const total = sum(o);
  if (total === 0) return unavailable('no-events', 'none was seen, so no change can be looked for.');
  const ids = denseIds(cluster);
  if (ids.count < 5) {
    return unavailable('one-cluster', 'there are too few groups of records to tell a change from chance.');
  }
  const level = total / sum(e);
  const gain = new Float64Array(months).fill(Number.NaN);
  let best = -1;
  for (let at = fewest; at <= months - fewest; at += 1) {
    const [ob, eb] = [sum(o.subarray(0, at)), sum(e.subarray(0, at))];
    if (eb <= 0 || eb >= sum(e)) continue;
    const [oa, ea] = [total - ob, sum(e) - eb];
    gain[at] = 2 * (part(ob, eb * level) + part(oa, ea * level));
    if (best < 0 || gain[at]! > gain[best]!) best = at;
  }
  if (best < 0) return unavailable('no-rows', 'there are too few months to look for a change.');
  const residual = observed.map((value, i) => value - level * expected[i]!);
  const p = signP(
    { ...data, cluster: ids.codes },
    residual,
    e,
    level,
    fewest,
    draws,
    options.seed ?? 1,
    ids.count,
  );
  return { month: best, ratio: ratioAt(data, ids, best), gain, p, draws, nClusters: ids.count };
}

/** o·log(o/e), 0 at o = 0: what one side adds to the log-likelihood, the totals being alike. */
const part = (o: number, e: number): number => (o > 0 ? o * Math.log(o / e) : 0);

const sum = (values: Float64Array): number => values.reduce((total, value) => total + value, 0);

function denseIds(cluster: Int32Array): { codes: Int32Array; count: number } {
  const numbers = new Map<number, number>();
  const codes = Int32Array.from(cluster, (id) => {
    const known = numbers.get(id);
    if (known !== undefined) return known;
    numbers.set(id, numbers.size);
    return numbers.size - 1;
  });
  return { codes, count: numbers.size };
}

/** The score form: D² · (1/E before + 1/E after)/level, D the sum of residuals after the month less its fair share. */
function bestScore(residual: Float64Array, e: Float64Array, level: number, fewest: number): number {
  const whole = sum(residual);
  const expected = sum(e);
  let after = whole;
  let left = expected;
  let best = 0;
  for (let at = 1; at <= residual.length - fewest; at += 1) {
    after -= residual[at - 1]!;
    left -= e[at - 1]!;
    if (at < fewest || left <= 0 || left >= expected) continue;
    const apart = after - (left / expected) * whole;
    best = Math.max(best, (apart * apart * (1 / left + 1 / (expected - left))) / level);
  }
  return best;
}

function signP(
  { cluster, month, months }: ScanData,
  residual: Float64Array,
  e: Float64Array,
  level: number,
  fewest: number,
  draws: number,
  seed: number,
  clusters: number,
): number {
  const random = seededRandom(seed);
  const signs = new Int8Array(clusters * AT_ONCE).fill(1);
  const scores = (): number[] =>
    monthlySums({ cluster, month, months }, residual, signs).map((sums) => bestScore(sums, e, level, fewest));
  const found = scores()[0]!;
  let asMuch = 0;
  for (let draw = 0; draw < draws; draw += AT_ONCE) {
    const several = Math.min(AT_ONCE, draws - draw);
    for (let k = 0; k < several; k += 1) {
      for (let g = 0; g < clusters; g += 1) signs[g * AT_ONCE + k] = random.uniform() < 0.5 ? -1 : 1;
    }
    for (const score of scores().slice(0, several)) if (score >= found - 1e-12) asMuch += 1;
  }
  return (1 + asMuch) / (1 + draws);
}

/** So many draws are summed by one look at the residuals. */
const AT_ONCE = 8;

/** Signed residuals by month under `AT_ONCE` signs of each cluster, one array a draw. */
function monthlySums(
  { cluster, month, months }: Pick<ScanData, 'cluster' | 'month' | 'months'>,
  residual: Float64Array,
  signs: Int8Array,
): Float64Array[] {
  const sums = new Float64Array(months * AT_ONCE);
  for (let i = 0; i < month.length; i += 1) {
    const to = month[i]! * AT_ONCE;
    const from = cluster[i]! * AT_ONCE;
    const value = residual[i]!;
    // Written out: a loop over eight takes three times as long.
    sums[to]! += signs[from]! * value;
    sums[to + 1]! += signs[from + 1]! * value;
    sums[to + 2]! += signs[from + 2]! * value;
    sums[to + 3]! += signs[from + 3]! * value;
    sums[to + 4]! += signs[from + 4]! * value;
    sums[to + 5]! += signs[from + 5]! * value;
    sums[to + 6]! += signs[from + 6]! * value;
    sums[to + 7]! += signs[from + 7]! * value;
  }
  return Array.from({ length: AT_ONCE }, (_, k) =>
    Float64Array.from({ length: months }, (_, at) => sums[at * AT_ONCE + k]!),
  );
}

/** Observed over expected from a month on against before it, the error linearised by cluster, Student's t on G − 1. */
function ratioAt(
  { month, observed, expected }: ScanData,
  { codes, count }: { codes: Int32Array; count: number },
  at: number,
): Estimate {
  const o = [0, 0];
  const e = [0, 0];
  for (let i = 0; i < month.length; i += 1) {
    const side = month[i]! < at ? 0 : 1;
    o[side]! += observed[i]!;
    e[side]! += expected[i]!;
  }
  const rate = [o[0]! / e[0]!, o[1]! / e[1]!];
  // A side without a case counts half a one.
  const worth = [Math.max(0.5, o[0]!), Math.max(0.5, o[1]!)];
  const apart = [new Float64Array(count), new Float64Array(count)];
  for (let i = 0; i < month.length; i += 1) {
    const side = month[i]! < at ? 0 : 1;
    apart[side]![codes[i]!]! += (observed[i]! - rate[side]! * expected[i]!) / worth[side]!;
  }
  const both = apart[1]!.map((value, g) => value - apart[0]![g]!);
  const squares = both.reduce((total, value) => total + value * value, 0);
  const least = 1 / worth[0]! + 1 / worth[1]!;
  const logError = Math.sqrt(Math.max(least, (count / (count - 1)) * squares));
  const t = studentMultiplier(count - 1);
  const estimate = worth[1]! / e[1]! / (worth[0]! / e[0]!);
  return {
    estimate,
    stdError: estimate * logError,
    low: estimate * Math.exp(-t * logError),
    high: estimate * Math.exp(t * logError),
  };
}
