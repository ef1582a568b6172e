import { factorSpd } from './linear-algebra.ts';
import type { Evaluation } from './predictor-model.ts';

export interface Ascent {
  /**
   * `converged`: the Newton step is negligible. `diverging`: the log-likelihood no longer rises but the step stays
   * large, so the maximum lies at infinity along `step`. `stopped`: neither.
   */
  readonly status: 'converged' | 'diverging' | 'stopped';
  readonly theta: Float64Array;
  readonly at: Evaluation;
  readonly step: Float64Array;
  readonly iterations: number;
}

const NEGLIGIBLE_STEP = 1e-7;
const NEGLIGIBLE_GAIN = 1e-7;
/** A predictor may move this far in one iteration: on log scales more is never right. */
const LONGEST_STEP = 4;
/** So near the top a Newton step is taken although the value, an integral in some models, cannot show that it rises. */
const NEAR_STEP = 1e-3;
const NEAR_DIGITS = 1e-6;
/** Steps cut to less than this, several in a row, come to nothing: value and slopes do not belong together there. */
const CRAWL = 1e-5;
const CRAWLS = 4;

/**
 * Maximises a log-likelihood over the coordinates marked `free` by Newton steps with step halving, and with a ridge
 * where the information is not positive definite. Judged by the change of the predictors (`size`) rather than by the
 * gradient: where a group has no events the gradient vanishes although there is no finite maximum, but each step
 * still moves the predictor by about 1, and that is how divergence shows (Albert & Anderson 1984, Biometrika 71:1–10,
 * describe when it happens).
 */
export function newtonAscent(
  f: (theta: Float64Array) => Evaluation,
  start: Float64Array,
  free: readonly boolean[],
  size: (step: Float64Array) => number,
  maxIterations = 100,
): Ascent {
  const index = free.flatMap((isFree, j) => (isFree ? [j] : []));
  let theta = Float64Array.from(start);
  let at = f(theta);
  if (!Number.isFinite(at.value)) throw new Error(`start must have a finite log-likelihood: ${at.value}`);
  let idle = 0;
  let crawls = 0;
  let step = new Float64Array(start.length);
  for (let iteration = 1; iteration <= maxIterations; iteration += 1) {
    const newton = newtonStep(at, index);
    step = newton.step;
    const length = size(step);
    const gain = index.reduce((sum, j) => sum + step[j]! * at.gradient[j]!, 0);
    const last = newton.isNewton && length < NEGLIGIBLE_STEP;
    idle = newton.isNewton && gain < NEGLIGIBLE_GAIN && length > 1e-3 ? idle + 1 : 0;
    if (idle >= 3) return { status: 'diverging', theta, at, step, iterations: iteration };
    const digits = newton.isNewton && length < NEAR_STEP ? NEAR_DIGITS : 1e-13;
    const longest = Math.min(1, LONGEST_STEP / length);
    const next = advance(f, theta, at, step, longest, gain, digits);
    crawls = next && next.t < CRAWL * longest ? crawls + 1 : 0;
    if (next) ({ theta, at } = next);
    if (last) return { status: 'converged', theta, at, step, iterations: iteration };
    if (!next || crawls === CRAWLS) break;
  }
  return { status: 'stopped', theta, at, step, iterations: maxIterations };
}

/** (I + ridge)⁻¹g over the free coordinates; `isNewton` where no ridge was needed. */
function newtonStep(
  { gradient, information }: Evaluation,
  index: readonly number[],
): { step: Float64Array<ArrayBuffer>; isNewton: boolean } {
  const q = gradient.length;
  const p = index.length;
  const step = new Float64Array(q);
  for (let ridge = 0; ridge < 1e10; ridge = ridge === 0 ? 1e-6 : ridge * 10) {
    const block = new Float64Array(p * p);
    index.forEach((i, a) => {
      index.forEach((j, b) => {
        block[a * p + b] = information[i * q + j]!;
      });
      block[a * p + a]! += ridge * Math.max(Math.abs(information[i * q + i]!), 1e-8);
    });
    const solution = factorSpd(block, p)?.solve(Float64Array.from(index, (j) => gradient[j]!));
    if (!solution?.every(Number.isFinite)) continue;
    index.forEach((j, a) => {
      step[j] = solution[a]!;
    });
    return { step, isNewton: ridge === 0 };
  }
  return { step, isNewton: false };
}

function advance(
  f: (theta: Float64Array) => Evaluation,
  theta: Float64Array,
  at: Evaluation,
  step: Float64Array,
  longest: number,
  gain: number,
  digits: number,
): { theta: Float64Array<ArrayBuffer>; at: Evaluation; t: number } | null {
  const rounding = digits * (1 + Math.abs(at.value));
  for (let t = longest; t > 1e-10; t /= 2) {
    const trial = theta.map((value, j) => value + t * step[j]!) as Float64Array<ArrayBuffer>;
    const there = f(trial);
    const finite = Number.isFinite(there.value) && there.gradient.every(Number.isFinite);
    if (finite && there.value >= at.value + 1e-4 * t * gain - rounding) return { theta: trial, at: there, t };
  }
  return null;
}
