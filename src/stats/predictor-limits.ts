import { type Outcome, unavailable } from '../core/outcome.ts';
import { type Ascent, newtonAscent } from './newton-ascent.ts';
import { evaluate, type PredictorModel, predictorChange } from './predictor-model.ts';

/** A coefficient whose likelihood keeps rising towards minus (`below`) or plus infinity (`above`). */
export interface Limit {
  readonly parameter: number;
  readonly side: 'below' | 'above';
  /**
   * One-sided limit at the given confidence c: where the profile log-likelihood has fallen by −log(1 − c) from its
   * supremum. With no event among n alike rows this is the exact limit, 3.0/n at 95 % (Hanley & Lippman-Hand 1983,
   * JAMA 249:1743–1745). With clusters the fall is multiplied by the average inflation of the other parameters'
   * variances, since a group without events has none of its own to show.
   */
  readonly limit: number;
}

interface Bounded {
  readonly parameter: number;
  readonly side: Limit['side'];
}

/** Newton's ascent in which coefficients that run to infinity by themselves are left where they are; `free` is changed. */
export function ascendWithLimits(
  model: PredictorModel,
  start: Float64Array,
  free: boolean[],
  terms: readonly string[],
): Outcome<{ ascent: Ascent; bounded: Bounded[] }> {
  const f = (theta: Float64Array) => evaluate(model, theta);
  const size = (step: Float64Array) => predictorChange(model, step);
  const bounded: Bounded[] = [];
  let from = start;
  for (let round = 0; round <= terms.length; round += 1) {
    const ascent = newtonAscent(f, from, free, size);
    if (ascent.status === 'converged') return { ascent, bounded };
    if (ascent.status === 'stopped') {
      return unavailable('not-converged', 'the calculation did not settle on an answer for these records.');
    }
    const running = runningOff(model, ascent, free);
    for (const { parameter, side } of running) {
      if (!runsAlone(model, ascent, { parameter, side })) {
        const names = running.map((r) => terms[r.parameter]).join(', ');
        return unavailable(
          'no-overlap',
          `in some group events are too few, or all on one side, to say how it differs: ${names}.`,
        );
      }
      free[parameter] = false;
      bounded.push({ parameter, side });
    }
    from = ascent.theta;
  }
  return unavailable('not-converged', 'the calculation did not settle on an answer for these records.');
}

/** The free parameters that move along the diverging step. */
function runningOff(model: PredictorModel, { step }: Ascent, free: readonly boolean[]): Bounded[] {
  const whole = predictorChange(model, step);
  return Array.from(step, (change, parameter) => ({ change, parameter })).flatMap(({ change, parameter }) => {
    if (!free[parameter] || change === 0) return [];
    const alone = new Float64Array(step.length);
    alone[parameter] = change;
    if (predictorChange(model, alone) < 0.05 * whole) return [];
    return [{ parameter, side: change < 0 ? ('below' as const) : ('above' as const) }];
  });
}

/** Whether the log-likelihood stays up when this parameter alone goes on without bound (here, as far as e^50). */
function runsAlone(model: PredictorModel, { theta, at }: Ascent, { parameter, side }: Bounded): boolean {
  const unit = new Float64Array(theta.length);
  unit[parameter] = 1;
  const further = Float64Array.from(theta);
  further[parameter]! += ((side === 'below' ? -1 : 1) * 50) / predictorChange(model, unit);
  return evaluate(model, further).value > at.value - 1e-5;
}

/**
 * Where the profile log-likelihood has fallen by `fall` from its supremum: strides inward until it has, then Newton's
 * method, halving where that would leave the bracket. The profile's slope is that of the log-likelihood in the parameter
 * held, since the others are at their maximum.
 */
export function profileLimit(
  model: PredictorModel,
  { theta, at }: Ascent,
  free: readonly boolean[],
  parameter: number,
  side: Limit['side'],
  fall: number,
): Outcome<number> {
  const f = (t: Float64Array) => evaluate(model, t);
  const size = (step: Float64Array) => predictorChange(model, step);
  const inward = side === 'below' ? 1 : -1;
  let warm = theta;
  /** How much further than `fall` the profile lies below its supremum with the parameter at `value`, and its slope. */
  const excess = (value: number): { readonly by: number; readonly slope: number } => {
    const from = Float64Array.from(warm);
    from[parameter] = value;
    const ascent = newtonAscent(f, from, free, size);
    if (ascent.status === 'stopped') return { by: Number.NaN, slope: Number.NaN };
    warm = ascent.theta;
    return { by: at.value - ascent.at.value - fall, slope: -ascent.at.gradient[parameter]! };
  };
  let outer = theta[parameter]!;
  let inner = outer;
  let here = { by: Number.NaN, slope: Number.NaN };
  let stride = 1;
  for (let tries = 0; tries < 60; tries += 1) {
    inner = outer + inward * stride;
    here = excess(inner);
    if (here.by > 0) break;
    if (Number.isNaN(here.by) || tries === 59) {
      return notSettled();
    }
    outer = inner;
    // Where the fall speeds up, Newton's step from above the limit goes past it, and hardly further than need be.
    const newton = Math.abs(here.by / here.slope);
    stride = Math.min(stride * 1.5, 4, 1.05 * newton + 0.01);
  }
  let value = inner;
  for (let turn = 0; turn < 60 && Math.abs(inner - outer) > 1e-8; turn += 1) {
    const newton = value - here.by / here.slope;
    if (Math.abs(newton - value) <= 1e-9) return newton;
    const isInside = (newton - outer) * inward > 0 && (inner - newton) * inward > 0;
    value = isInside ? newton : (inner + outer) / 2;
    here = excess(value);
    if (Number.isNaN(here.by)) return notSettled();
    if (here.by > 0) inner = value;
    else outer = value;
  }
  return (inner + outer) / 2;
}

const notSettled = () =>
  unavailable('not-converged', 'the calculation did not settle on a limit for these records.');
