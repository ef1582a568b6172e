import { type Outcome, unavailable } from '../core/outcome.ts';
import { normalMultiplier } from './distributions.ts';

/** `time[i]` until the event where `event[i]` is 1, until last seen without it where 0. */
export interface RightCensoredData {
  readonly time: Float64Array;
  readonly event: Uint8Array;
}

/** One step of the curve, at a time with at least one event. Standard error and interval are null where S is 0. */
interface KaplanMeierStep {
  readonly time: number;
  readonly nRisk: number;
  readonly nEvents: number;
  readonly survival: number;
  readonly stdError: number | null;
  readonly low: number | null;
  readonly high: number | null;
}

export interface KaplanMeierFit {
  readonly n: number;
  readonly nEvents: number;
  readonly lastTime: number;
  readonly steps: readonly KaplanMeierStep[];
  /** Null where the curve, or its limit, never comes down to one half. */
  readonly median: {
    readonly estimate: number | null;
    readonly low: number | null;
    readonly high: number | null;
  };
}

/**
 * Product-limit estimate S(t) with Greenwood standard errors and intervals on the log(−log S) scale.
 * Rows are taken as independent. Shapes: n rows. Units: those of `time`.
 * Throws on unequal lengths or a time that is negative or no number. Unavailable: no rows, no events.
 * Source: Kaplan & Meier 1958, J Am Stat Assoc 53:457–481; Kalbfleisch & Prentice 2002 for the interval,
 * Brookmeyer & Crowley 1982, Biometrics 38:29–41 for the median's.
 */
export function kaplanMeier(data: RightCensoredData, confidence = 0.95): Outcome<KaplanMeierFit> {
  const order = checkedOrder(data);
  const n = order.length;
  if (n === 0) return unavailable('no-rows', 'There are no rows to estimate from.');
  const nEvents = data.event.reduce((sum, e) => sum + e, 0);
  if (nEvents === 0) return unavailable('no-events', `None of the ${n} spans followed ended in an event.`);
  const z = normalMultiplier(confidence);
  const steps: KaplanMeierStep[] = [];
  let survival = 1;
  let greenwood = 0;
  for (let i = 0; i < n; ) {
    const time = data.time[order[i]!]!;
    const nRisk = n - i;
    let died = 0;
    for (; i < n && data.time[order[i]!] === time; i += 1) died += data.event[order[i]!]!;
    if (died === 0) continue;
    survival *= 1 - died / nRisk;
    greenwood += died / (nRisk * (nRisk - died));
    steps.push({ time, nRisk, nEvents: died, ...withInterval(survival, greenwood, z) });
  }
  return { n, nEvents, lastTime: data.time[order[n - 1]!]!, steps, median: medianOf(steps) };
}

function withInterval(survival: number, greenwood: number, z: number) {
  if (survival === 0) return { survival, stdError: null, low: null, high: null };
  const root = Math.sqrt(greenwood);
  const spread = Math.exp((z * root) / -Math.log(survival));
  return { survival, stdError: survival * root, low: survival ** spread, high: survival ** (1 / spread) };
}

function medianOf(steps: readonly KaplanMeierStep[]): KaplanMeierFit['median'] {
  // Where S has reached 0 there is no interval, and the limits of the step before still hold.
  const low = steps.find((s) => (s.low ?? 0) <= 0.5)?.time ?? null;
  const high = steps.find((s) => s.high !== null && s.high <= 0.5)?.time ?? null;
  const last = steps.findIndex((s) => s.survival <= 0.5 + 1e-12);
  const here = steps[last];
  if (!here) return { estimate: null, low, high };
  const next = steps[last + 1];
  // A curve that runs level at one half has its median anywhere on the level: the middle is taken.
  const level = Math.abs(here.survival - 0.5) < 1e-12 && next !== undefined;
  return { estimate: level ? (here.time + next.time) / 2 : here.time, low, high };
}

/** The step that holds at time t, or null before the first event. */
export function stepAt(fit: KaplanMeierFit, t: number): KaplanMeierStep | null {
  return fit.steps.findLast((step) => step.time <= t) ?? null;
}

/** Row numbers by time. Throws on data that are no times. */
export function checkedOrder({ time, event }: RightCensoredData): Int32Array {
  if (time.length !== event.length) {
    throw new Error(`time and event must be of one length: ${time.length}, ${event.length}`);
  }
  for (const t of time) {
    if (!(t >= 0 && t < Number.POSITIVE_INFINITY)) throw new Error(`time must be 0 or more and finite: ${t}`);
  }
  for (const e of event) if (e > 1) throw new Error(`event must be 0 or 1: ${e}`);
  return Int32Array.from(time.keys()).sort((a, b) => time[a]! - time[b]!);
}
