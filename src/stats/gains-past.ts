import { type Estimate, isUnavailable, type Outcome } from '../core/outcome.ts';
import { clusteredRate } from './clustered-rate.ts';
import { normalCdf, studentCdf } from './distributions.ts';

/** Units that gain, each at a rate of its own with a spread on so many degrees of freedom, alike within clusters. */
export interface GainingUnits {
  readonly rate: Float64Array;
  readonly sd: Float64Array;
  readonly degrees: Float64Array;
  readonly cluster: Int32Array;
}

/** How long each unit gains, and what every one of some starts adds to its rate where it gains for so long. */
export interface GainPlan {
  readonly time: Float64Array;
  readonly shifts: ReadonlyMap<number, readonly number[]>;
}

export interface GainsPast {
  /** Mean gain, over units and starts. */
  readonly mean: Outcome<Estimate>;
  /** Expected share of gains past the limit; its interval stays within 0 and 1 by the logit scale. */
  readonly share: Outcome<Estimate>;
}

/**
 * Mean gain of units over a time, and the share expected to be past a limit, errors by cluster as for units such as these. A
 * gain is past the limit with the chance that Student's t on the unit's degrees of freedom gives it. Typed as `clusteredRate`.
 */
export function gainsPast(
  { rate, sd, degrees, cluster }: GainingUnits,
  { time, shifts }: GainPlan,
  limit: number,
): GainsPast {
  const n = rate.length;
  const gained = new Float64Array(n);
  const past = new Float64Array(n);
  for (let i = 0; i < n; i += 1) {
    const d = time[i]!;
    const starts = shifts.get(d);
    if (!starts) throw new Error(`shifts must hold each time: ${d}`);
    for (const shift of starts) {
      const gain = d * (rate[i]! + shift);
      gained[i]! += gain / starts.length;
      past[i]! += beyond((limit - gain) / (d * sd[i]!), degrees[i]!) / starts.length;
    }
  }
  const ones = new Float64Array(n).fill(1);
  const share = clusteredRate(past, ones, cluster);
  return {
    mean: clusteredRate(gained, ones, cluster),
    share: isUnavailable(share) ? share : onLogit(share),
  };
}

const NEARLY_NORMAL = 200;

function beyond(z: number, degrees: number): number {
  return degrees > NEARLY_NORMAL ? normalCdf(-z) : studentCdf(-z, degrees);
}

function onLogit({ estimate, stdError, low, high }: Estimate): Estimate {
  const inner = estimate * (1 - estimate);
  if (!(inner > 0)) return { estimate, stdError, low: estimate, high: estimate };
  const reach = (high - low) / 2 / inner;
  const at = (shift: number): number => 1 / (1 + ((1 - estimate) / estimate) * Math.exp(-shift));
  return { estimate, stdError, low: at(-reach), high: at(reach) };
}
