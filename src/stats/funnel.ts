import { chiSquareQuantile, normalQuantile } from './distributions.ts';
import { dispersedInterval, poissonLimit } from './poisson.ts';

/** How units vary beyond chance: nothing more, all variances alike by a factor, or each by a part of its own. */
type FunnelSpread = 'none' | 'multiplicative' | 'additive';

interface FunnelUnits {
  /** Observed and expected events of each of n units. */
  readonly observed: ArrayLike<number>;
  readonly expected: ArrayLike<number>;
  /** How much more each count varies than a Poisson count of its mean, for reasons within units; 1 or more. */
  readonly dispersion: number | ArrayLike<number>;
}

export interface BetweenUnits {
  /** Mean square of the winsorised z; 1 where units differ by chance alone. */
  readonly factor: number;
  /** Standard deviation between units on the scale of the square root of observed over expected; 0 where none. */
  readonly tau: number;
  readonly nUnits: number;
  /** Whether Σ of the winsorised z² is above what chance alone gives 19 times in 20: χ² on n. */
  readonly isBeyondChance: boolean;
}

/**
 * Overdispersion between units from z = 2(√O − √E)/√dispersion, the most extreme `winsorise` of units at each end
 * pulled in to the nearest of the others, so that a few outliers do not widen the limits that should show them.
 * factor = Σz²/n; tau² = max(0, (n·factor − (n − 1))/(Σw − Σw²/Σw)) with w = 4E/dispersion (DerSimonian & Laird 1986,
 * Control Clin Trials 7:177–188). Units that expect nothing are passed over.
 * Spiegelhalter 2005, Stat Med 24:1185–1202 (from memory); square-root scale as in Spiegelhalter et al. 2012,
 * J R Stat Soc A 175:1–47 (from memory).
 */
export function betweenUnits({ observed, expected, dispersion }: FunnelUnits, winsorise = 0.1): BetweenUnits {
  if (!(winsorise >= 0 && winsorise < 0.5)) throw new Error(`winsorise must lie from 0 to 0.5: ${winsorise}`);
  const z: number[] = [];
  let sum = 0;
  let squares = 0;
  const spreadOf = (i: number): number => (typeof dispersion === 'number' ? dispersion : dispersion[i]!);
  for (let i = 0; i < observed.length; i += 1) {
    if (!(expected[i]! > 0)) continue;
    z.push((2 * (Math.sqrt(observed[i]!) - Math.sqrt(expected[i]!))) / Math.sqrt(spreadOf(i)));
    const w = (4 * expected[i]!) / spreadOf(i);
    sum += w;
    squares += w * w;
  }
  const n = z.length;
  if (n < 2) return { factor: 1, tau: 0, nUnits: n, isBeyondChance: false };
  const sorted = [...z].sort((a, b) => a - b);
  const cut = Math.floor(winsorise * n);
  const [least, most] = [sorted[cut]!, sorted[n - 1 - cut]!];
  const factor = z.reduce((total, value) => total + Math.min(most, Math.max(least, value)) ** 2, 0) / n;
  const tauSquared = Math.max(0, (n * factor - (n - 1)) / (sum - squares / sum));
  return {
    factor,
    tau: Math.sqrt(tauSquared),
    nUnits: n,
    isBeyondChance: n * factor > chiSquareQuantile(0.95, n),
  };
}

/**
 * Limits within which observed over expected lies with probability `within` for a unit that expects `expected` events.
 * `none` and `multiplicative`: interpolated Poisson limits of the events that it is worth, E/(dispersion·factor);
 * `additive`: (1 ± z·√(dispersion/4E + tau²))² on the square-root scale, not below 0.
 */
export function funnelLimits(
  expected: number,
  within: number,
  spread: FunnelSpread,
  dispersion: number,
  { factor, tau }: Pick<BetweenUnits, 'factor' | 'tau'>,
): { low: number; high: number } {
  if (!(expected > 0)) throw new Error(`expected must be above 0: ${expected}`);
  const tail = (1 - within) / 2;
  if (spread === 'additive' && tau > 0) {
    const reach = -normalQuantile(tail) * Math.sqrt(dispersion / (4 * expected) + tau * tau);
    return { low: Math.max(0, 1 - reach) ** 2, high: (1 + reach) ** 2 };
  }
  const worth = expected / (dispersion * (spread === 'multiplicative' ? Math.max(1, factor) : 1));
  return { low: poissonLimit(tail, worth) / worth, high: poissonLimit(1 - tail, worth) / worth };
}

/**
 * Observed over expected with a 95 % interval: that of the dispersed count, and on the log scale the error of the
 * expected number, put together by their squares (Zou & Donner 2008, Stat Med 27:1693–1702, from memory). `variance` is
 * that of the expected number, 0 where it is known.
 */
export function observedOverExpected(
  observed: number,
  expected: number,
  dispersion: number,
  variance: number,
): { estimate: number; low: number; high: number } {
  if (!(expected > 0)) throw new Error(`expected must be above 0: ${expected}`);
  const count = dispersedInterval(observed, dispersion);
  const byExpected = (normalQuantile(0.975) * Math.sqrt(variance)) / expected;
  // Of next to nothing observed, half a case stands for it on the log scale.
  const at = Math.max(observed, 0.5 * dispersion);
  const estimate = observed / expected;
  return {
    estimate,
    low: observed === 0 ? 0 : (at / expected) * Math.exp(-Math.hypot(Math.log(at / count.low), byExpected)),
    high: (at / expected) * Math.exp(Math.hypot(Math.log(count.high / at), byExpected)),
  };
}

/** Expected events, after `dispersion`, below which even none at all lies inside the 95 % limits: exp(−E) = 0.025. */
export const LEAST_WORTH = -Math.log(0.025);
