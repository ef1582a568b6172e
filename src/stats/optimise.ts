import { type Outcome, unavailable } from '../core/outcome.ts';
import { dot, factorSpd, type SquareMatrix } from './linear-algebra.ts';

/** A function to be made small: value (Infinity = not allowed here) and gradient at x. */
type Objective = (x: Float64Array) => { readonly value: number; readonly gradient: Float64Array };

interface MinimiseOptions {
  /** Lower bound of each coordinate (−Infinity for none). */
  readonly lower?: Float64Array;
  /** Second derivatives, p × p row-major: turns quasi-Newton into damped Newton. */
  readonly hessian?: (x: Float64Array) => SquareMatrix;
  /** Stop where every free |g_i|·max(|x_i|, 1)/max(|f|, 1) is below this. Default 1e-8. */
  readonly gradientTolerance?: number;
  readonly maxIterations?: number;
}

interface Minimum {
  readonly x: Float64Array;
  readonly value: number;
  readonly gradient: Float64Array;
  readonly iterations: number;
  /** The scaled gradient at the end, by the measure of `gradientTolerance`. */
  readonly scaledGradient: number;
}

const ROUNDING_LIMIT = 1e-5;
/** Of the value: less than this a step cannot be seen to gain. */
const ROUNDING = 1e-15;
/** So many steps without a gain to be seen say that rounding, and not the function, leads. */
const STILL_STEPS = 3;

/**
 * Local minimum by BFGS (damped Newton where `hessian` is given), projected on the lower bounds, with a
 * bisecting weak Wolfe line search (Nocedal & Wright 2006, ch. 3 and 6; Dennis & Schnabel 1983, §7.2).
 * Where rounding stops progress it is accepted only with a scaled gradient below 1e-5; else `not-converged`: without
 * this a gradient just above the tolerance is chased through hundreds of steps that only rounding makes.
 */
export function minimise(f: Objective, start: Float64Array, options: MinimiseOptions = {}): Outcome<Minimum> {
  const p = start.length;
  const lower = options.lower ?? new Float64Array(p).fill(Number.NEGATIVE_INFINITY);
  const tolerance = options.gradientTolerance ?? 1e-8;
  let x: Float64Array = Float64Array.from(start, (value, i) => Math.max(value, lower[i]!));
  let here = f(x);
  if (!Number.isFinite(here.value)) throw new Error(`start must have a finite value: ${here.value}`);
  let inverse = identity(p);
  let fresh = true;
  let still = 0;

  for (let iteration = 0; iteration < (options.maxIterations ?? 500); iteration++) {
    const scaled = scaledGradient(x, here, lower);
    if (Number.isNaN(scaled)) throw new Error('gradient must be finite: NaN');
    const found = (): Minimum => ({ x, ...here, iterations: iteration, scaledGradient: scaled });
    if (scaled <= tolerance || (still >= STILL_STEPS && scaled <= ROUNDING_LIMIT)) return found();

    const held = heldCoordinates(x, here.gradient, lower);
    const direction = options.hessian
      ? newtonDirection(options.hessian(x), here.gradient, held)
      : quasiNewtonDirection(inverse, here.gradient, held);
    const step = lineSearch(f, x, here, direction, lower);
    if (!step) {
      if (!fresh && !options.hessian) {
        inverse = identity(p);
        fresh = true;
        continue;
      }
      return scaled <= ROUNDING_LIMIT ? found() : notConverged();
    }
    if (!options.hessian) {
      const moved = step.x.map((value, i) => value - x[i]!);
      const turned = step.at.gradient.map((value, i) => value - here.gradient[i]!);
      inverse = updated(inverse, moved, turned, fresh);
      fresh = false;
    }
    still = here.value - step.at.value > ROUNDING * Math.max(Math.abs(here.value), 1) ? 0 : still + 1;
    x = step.x;
    here = step.at;
  }
  const scaled = scaledGradient(x, here, lower);
  return scaled <= ROUNDING_LIMIT
    ? { x, ...here, iterations: options.maxIterations ?? 500, scaledGradient: scaled }
    : notConverged();
}

type Evaluated = ReturnType<Objective>;

function lineSearch(f: Objective, x: Float64Array, here: Evaluated, d: Float64Array, lower: Float64Array) {
  const slope = dot(d, here.gradient);
  if (!(slope < 0)) return null;
  let low = 0;
  let high = Number.POSITIVE_INFINITY;
  let t = 1;
  let best: { x: Float64Array; at: Evaluated } | null = null;
  for (let trial = 0; trial < 60; trial++) {
    const point = x.map((value, i) => Math.max(lower[i]!, value + t * d[i]!));
    const at = f(point);
    const gain = dotDifference(here.gradient, point, x);
    const moved = point.some((value, i) => value !== x[i]);
    if (!moved) break;
    if (!(at.value <= here.value + 1e-4 * Math.min(gain, 0)) || !at.gradient.every(Number.isFinite)) {
      high = t;
      t = (low + high) / 2;
      // Shorter steps gain still less than this one, and even it promised less than can be seen.
      if (-t * slope < ROUNDING * Math.abs(here.value)) break;
    } else {
      if (!best || at.value <= best.at.value) best = { x: point, at };
      const clipped = point.some((value, i) => value === lower[i] && d[i]! < 0);
      if (clipped || dot(d, at.gradient) >= 0.9 * slope) break;
      low = t;
      t = high === Number.POSITIVE_INFINITY ? 2 * t : (low + high) / 2;
    }
    if (high - low < 1e-14 * Math.max(1, low)) break;
  }
  return best && best.at.value <= here.value ? best : null;
}

function scaledGradient(x: Float64Array, at: Evaluated, lower: Float64Array): number {
  let worst = 0;
  for (let i = 0; i < x.length; i++) {
    const slope = at.gradient[i]!;
    if (Number.isNaN(slope)) return Number.NaN;
    if (x[i]! <= lower[i]! && slope > 0) continue;
    worst = Math.max(
      worst,
      (Math.abs(slope) * Math.max(Math.abs(x[i]!), 1)) / Math.max(Math.abs(at.value), 1),
    );
  }
  return worst;
}

function heldCoordinates(x: Float64Array, gradient: Float64Array, lower: Float64Array): boolean[] {
  return Array.from(x, (value, i) => value <= lower[i]! && gradient[i]! > 0);
}

function quasiNewtonDirection(inverse: SquareMatrix, gradient: Float64Array, held: boolean[]): Float64Array {
  const p = gradient.length;
  const direction = new Float64Array(p);
  for (let i = 0; i < p; i++) {
    if (held[i]) continue;
    for (let j = 0; j < p; j++) if (!held[j]) direction[i]! -= inverse[i * p + j]! * gradient[j]!;
  }
  return direction;
}

/** −H⁻¹g over the free coordinates, with a ridge just large enough to make H positive definite. */
function newtonDirection(hessian: SquareMatrix, gradient: Float64Array, held: boolean[]): Float64Array {
  const p = gradient.length;
  const free = Array.from(gradient.keys()).filter((i) => !held[i]);
  const q = free.length;
  const scale = free.map((i) => Math.max(Math.abs(hessian[i * p + i]!), 1e-12));
  for (let ridge = 0; ridge < 1e8; ridge = ridge === 0 ? 1e-8 : ridge * 10) {
    const block = new Float64Array(q * q);
    free.forEach((i, a) => {
      free.forEach((j, b) => {
        block[a * q + b] = hessian[i * p + j]! + (a === b ? ridge * scale[a]! : 0);
      });
    });
    const step = factorSpd(block, q)?.solve(Float64Array.from(free, (i) => -gradient[i]!));
    if (!step?.every(Number.isFinite)) continue;
    const direction = new Float64Array(p);
    free.forEach((i, a) => {
      direction[i] = step[a]!;
    });
    return direction;
  }
  return gradient.map((value, i) => (held[i] ? 0 : -value));
}

/** BFGS update of the inverse Hessian; skipped where the curvature is not positive. */
function updated(inverse: SquareMatrix, s: Float64Array, y: Float64Array, fresh: boolean): SquareMatrix {
  const p = s.length;
  const curvature = dot(s, y);
  if (!(curvature > 1e-12 * Math.sqrt(dot(s, s) * dot(y, y)))) return inverse;
  const base = fresh ? inverse.map((value) => (value * curvature) / dot(y, y)) : inverse;
  const hy = new Float64Array(p);
  for (let i = 0; i < p; i++) for (let j = 0; j < p; j++) hy[i]! += base[i * p + j]! * y[j]!;
  const weight = (1 + dot(y, hy) / curvature) / curvature;
  const next = new Float64Array(p * p);
  for (let i = 0; i < p; i++) {
    for (let j = 0; j < p; j++) {
      next[i * p + j] =
        base[i * p + j]! + weight * s[i]! * s[j]! - (hy[i]! * s[j]! + s[i]! * hy[j]!) / curvature;
    }
  }
  return next;
}

function dotDifference(g: Float64Array, to: Float64Array, from: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < g.length; i++) sum += g[i]! * (to[i]! - from[i]!);
  return sum;
}

function identity(p: number): SquareMatrix {
  const result = new Float64Array(p * p);
  for (let i = 0; i < p; i++) result[i * p + i] = 1;
  return result;
}

function notConverged() {
  return unavailable('not-converged', 'the calculation did not settle on an answer for these records.');
}

/** Central differences with one Richardson step, for tests and for small checks; error about 1e-9 relative. */
export function numericGradient(f: (x: Float64Array) => number, x: Float64Array, step = 1e-3): Float64Array {
  const slope = (i: number, h: number) => {
    const up = Float64Array.from(x);
    const down = Float64Array.from(x);
    up[i]! += h;
    down[i]! -= h;
    return (f(up) - f(down)) / (2 * h);
  };
  return Float64Array.from(x, (value, i) => {
    const h = step * Math.max(1, Math.abs(value));
    return (4 * slope(i, h / 2) - slope(i, h)) / 3;
  });
}
