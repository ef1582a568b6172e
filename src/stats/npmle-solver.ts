import type { Support } from './interval-support.ts';

interface NpmleOptions {
  /** Stop when the Karush–Kuhn–Tucker gap is at or below this. */
  readonly tolerance: number;
  readonly maxIterations: number;
}

/** Holds the mass on the first `split` innermost intervals at `share`, 0 < share < 1. */
interface NpmleConstraint {
  readonly split: number;
  readonly share: number;
}

const NONE: NpmleConstraint = { split: 0, share: 0 };

/**
 * Mass on the m innermost intervals. `gap` is max_j d_j / n − 1, d_j being the derivative of the
 * log-likelihood in the mass j: 0 at the maximum, and n·gap bounds what the log-likelihood still lacks. Under a
 * constraint the maxima of its two sides are weighted by their shares, and the bound holds within it.
 */
interface NpmleFit {
  readonly mass: Float64Array;
  readonly logLikelihood: number;
  readonly gap: number;
  readonly iterations: number;
  readonly converged: boolean;
}

/**
 * Maximises Σ w_i log(mass on run i) over masses that sum to 1, by turns of an EM step and an iterative
 * convex minorant step on the cumulative masses (Wellner & Zhan 1997, J Am Stat Assoc 92:945–959), each in
 * time linear in runs and masses through cumulative sums. `start`, where given, must be positive throughout.
 */
export function solveNpmle(
  support: Support,
  options: NpmleOptions,
  start?: Float64Array,
  constraint = NONE,
): NpmleFit {
  const m = support.openAt.length;
  const n = support.totalWeight;
  let cumulative = constrained(cumulate(start ?? new Float64Array(m).fill(1 / m)), constraint);
  const work: Work = {
    gain: new Float64Array(m),
    change: new Float64Array(m + 1),
    trialChange: new Float64Array(m + 1),
    curve: new Float64Array(m + 1),
    target: new Float64Array(Math.max(0, m - 1)),
    level: new Float64Array(m),
    weight: new Float64Array(m),
    size: new Int32Array(m),
  };
  const vacuous = vacuousWeight(support);
  look(support, cumulative, work.change, null);
  let iterations = 0;
  let gap = sumGain(work.gain, work.change, vacuous, constraint) / n - 1;
  while (gap > options.tolerance && iterations < options.maxIterations) {
    iterations += 1;
    cumulative = constrained(emStep(cumulative, work.gain, n), constraint);
    look(support, cumulative, work.change, work.curve);
    const step = minorantStep(support, cumulative, work, constraint);
    if (step) cumulative = step;
    gap = sumGain(work.gain, step ? work.trialChange : work.change, vacuous, constraint) / n - 1;
  }
  const mass = new Float64Array(m);
  for (let j = 0; j < m; j += 1) mass[j] = cumulative[j + 1]! - cumulative[j]!;
  return {
    mass,
    logLikelihood: logLikelihood(support, cumulative),
    gap: Math.max(gap, 0),
    iterations,
    converged: gap <= options.tolerance,
  };
}

/** F before the first, and after each, innermost interval: m + 1 values from 0 to 1. */
function cumulate(mass: Float64Array): Float64Array {
  const cumulative = new Float64Array(mass.length + 1);
  for (let j = 0; j < mass.length; j += 1) cumulative[j + 1] = cumulative[j]! + mass[j]!;
  const total = cumulative[mass.length]!;
  for (let j = 1; j < mass.length; j += 1) cumulative[j]! /= total;
  cumulative[mass.length] = 1;
  return cumulative;
}

/** Rescales the two sides of the split to the shares that they must have. */
function constrained(cumulative: Float64Array, { split, share }: NpmleConstraint): Float64Array {
  if (split === 0) return cumulative;
  const at = cumulative[split]!;
  return cumulative.map((f, k) => (k <= split ? (f * share) / at : 1 - ((1 - f) * (1 - share)) / (1 - at)));
}

/** Arrays of one solution, used again by every step. */
interface Work {
  /** d_j where the search stands. */
  readonly gain: Float64Array;
  /** By how much d changes from each mass to the next (m + 1 values), after the EM step and at a trial. */
  readonly change: Float64Array;
  readonly trialChange: Float64Array;
  readonly curve: Float64Array;
  readonly target: Float64Array;
  readonly level: Float64Array;
  readonly weight: Float64Array;
  readonly size: Int32Array;
}

/**
 * One look at every run: how d changes from each mass to the next, and where wanted the curvature in each cumulative mass,
 * both at their numbers 0 … m. False where a run would have no chance.
 */
function look(
  support: Support,
  cumulative: Float64Array,
  change: Float64Array,
  curve: Float64Array | null,
): boolean {
  change.fill(0);
  if (!curve) return addChanges(support, cumulative, change);
  curve.fill(0);
  return addCurves(support, cumulative, change, curve);
}

function addChanges(
  { first, last, runWeight }: Support,
  cumulative: Float64Array,
  change: Float64Array,
): boolean {
  let least = 1;
  for (let i = 0; i < first.length; i += 1) {
    const low = first[i]!;
    const high = last[i]! + 1;
    const p = cumulative[high]! - cumulative[low]!;
    if (p < least) least = p;
    const g = runWeight[i]! / p;
    change[low]! += g;
    change[high]! -= g;
  }
  return least > 0;
}

function addCurves(
  { first, last, runWeight }: Support,
  cumulative: Float64Array,
  change: Float64Array,
  curve: Float64Array,
): boolean {
  let least = 1;
  for (let i = 0; i < first.length; i += 1) {
    const low = first[i]!;
    const high = last[i]! + 1;
    const p = cumulative[high]! - cumulative[low]!;
    if (p < least) least = p;
    const g = runWeight[i]! / p;
    const c = g / p;
    change[low]! += g;
    change[high]! -= g;
    curve[low]! += c;
    curve[high]! += c;
  }
  return least > 0;
}

/** Σ w log p. */
function logLikelihood({ first, last, runWeight }: Support, cumulative: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < first.length; i += 1) {
    sum += runWeight[i]! * Math.log(cumulative[last[i]! + 1]! - cumulative[first[i]!]!);
  }
  return sum;
}

/** A power up to this of a ratio not far from 1 is multiplied with others: a logarithm each would take twice as long. */
const MOST_POWER = 63;
const FAR_RATIO = 4;
const LARGE_PRODUCT = 1e100;

/** By how much the log-likelihood rises from one place to another, both of which give every run a chance. */
function rise({ first, last, runWeight }: Support, from: Float64Array, to: Float64Array): number {
  let sum = 0;
  let product = 1;
  for (let i = 0; i < first.length; i += 1) {
    const low = first[i]!;
    const high = last[i]! + 1;
    const w = runWeight[i]!;
    let power = (to[high]! - to[low]!) / (from[high]! - from[low]!);
    if (w <= MOST_POWER && (w | 0) === w && power < FAR_RATIO && power > 1 / FAR_RATIO) {
      for (let left = w; left > 0; left >>= 1) {
        if (left & 1) product *= power;
        power *= power;
      }
    } else sum += w * Math.log(power);
    if (product > LARGE_PRODUCT || product < 1 / LARGE_PRODUCT) {
      sum += Math.log(product);
      product = 1;
    }
  }
  return sum + Math.log(product);
}

/** The weight of runs left out of the support: it adds to every d_j. */
function vacuousWeight({ runWeight, totalWeight }: Support): number {
  let vacuous = totalWeight;
  for (let i = 0; i < runWeight.length; i += 1) vacuous -= runWeight[i]!;
  return vacuous;
}

/** Sums the changes up to d_j and returns the largest, weighted over the two sides of a split. */
function sumGain(
  gain: Float64Array,
  change: Float64Array,
  vacuous: number,
  { split, share }: NpmleConstraint,
): number {
  let sum = vacuous;
  let before = split === 0 ? 0 : Number.NEGATIVE_INFINITY;
  let after = Number.NEGATIVE_INFINITY;
  for (let j = 0; j < gain.length; j += 1) {
    sum += change[j]!;
    gain[j] = sum;
    if (j < split) before = Math.max(before, sum);
    else after = Math.max(after, sum);
  }
  return share * before + (1 - share) * after;
}

function emStep(cumulative: Float64Array, gain: Float64Array, n: number): Float64Array {
  const m = gain.length;
  const next = new Float64Array(m + 1);
  let sum = 0;
  for (let j = 0; j < m; j += 1) {
    sum += ((cumulative[j + 1]! - cumulative[j]!) * gain[j]!) / n;
    next[j + 1] = sum;
  }
  for (let j = 1; j < m; j += 1) next[j]! /= sum;
  next[m] = 1;
  return next;
}

/** One step towards the weighted isotonic regression of the Newton target, halved until the likelihood rises; null where it does not. */
function minorantStep(
  support: Support,
  cumulative: Float64Array,
  work: Work,
  { split, share }: NpmleConstraint,
): Float64Array | null {
  const { target, trialChange } = work;
  const m = trialChange.length - 1;
  if (split > 0) {
    fillIsotonic(work, cumulative, { from: 0, to: split - 1, low: 0, high: share });
    target[split - 1] = share;
  }
  fillIsotonic(work, cumulative, { from: split, to: m - 1, low: share, high: 1 });
  const trial = new Float64Array(m + 1);
  trial[m] = 1;
  for (let step = 1; step > 1e-4; step /= 2) {
    for (let k = 1; k < m; k += 1) trial[k] = cumulative[k]! + step * (target[k - 1]! - cumulative[k]!);
    if (!look(support, trial, trialChange, null)) continue;
    // The log-likelihood is concave: where it still rises at the end of the step it rose all the way, and nothing more need be asked.
    if (slopeAlong(trialChange, cumulative, trial) >= 0) return trial;
    if (rise(support, cumulative, trial) > 0) return trial;
  }
  return null;
}

/** The slope of the log-likelihood at the end of a step, along it. */
function slopeAlong(change: Float64Array, from: Float64Array, to: Float64Array): number {
  let slope = 0;
  for (let k = 1; k < change.length - 1; k += 1) slope -= change[k]! * (to[k]! - from[k]!);
  return slope;
}

/** Pool-adjacent-violators on F + slope/curve with weights `curve`, clipped to low–high, over part of the line. */
function fillIsotonic(
  { target, change, curve, level, weight, size }: Work,
  cumulative: Float64Array,
  { from, to, low, high }: { from: number; to: number; low: number; high: number },
): void {
  let blocks = 0;
  for (let k = from; k < to; k += 1) {
    const c = curve[k + 1]!;
    // The slope in the cumulative mass k + 1: a mass more before it is one less after it.
    level[blocks] = c > 0 ? cumulative[k + 1]! - change[k + 1]! / c : cumulative[k + 1]!;
    weight[blocks] = c;
    size[blocks] = 1;
    blocks += 1;
    while (blocks > 1 && level[blocks - 2]! >= level[blocks - 1]!) {
      const a = blocks - 2;
      const total = weight[a]! + weight[a + 1]!;
      level[a] = total > 0 ? (level[a]! * weight[a]! + level[a + 1]! * weight[a + 1]!) / total : level[a]!;
      weight[a] = total;
      size[a]! += size[a + 1]!;
      blocks -= 1;
    }
  }
  for (let b = 0, k = from; b < blocks; b += 1) {
    const clipped = Math.min(high, Math.max(low, level[b]!));
    for (let s = 0; s < size[b]!; s += 1, k += 1) target[k] = clipped;
  }
}
