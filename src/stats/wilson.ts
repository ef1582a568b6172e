import type { Estimate } from '../core/outcome.ts';
import { normalMultiplier } from './distributions.ts';

/**
 * Share with its Wilson score interval, no continuity correction. `n` may be an effective sample size and need not be
 * whole; 0 of n starts at exactly 0 and n of n ends at exactly 1. Wilson 1927, J Am Stat Assoc 22:209–212.
 */
export function wilsonInterval(successes: number, n: number, confidence = 0.95): Estimate {
  if (!(n > 0) || !Number.isFinite(n)) throw new Error(`n must be positive: ${n}`);
  if (!(successes >= 0 && successes <= n))
    throw new Error(`successes must lie between 0 and ${n}: ${successes}`);
  return wilsonOfShare(successes / n, n, normalMultiplier(confidence));
}

/** The same from a share and a multiplier of the caller's (a Student multiplier, say). */
export function wilsonOfShare(share: number, n: number, multiplier: number): Estimate {
  const zz = multiplier * multiplier;
  const centre = (share + zz / (2 * n)) / (1 + zz / n);
  const reach = (multiplier / (1 + zz / n)) * Math.sqrt((share * (1 - share)) / n + zz / (4 * n * n));
  return {
    estimate: share,
    stdError: Math.sqrt((share * (1 - share)) / n),
    low: share === 0 ? 0 : Math.max(0, centre - reach),
    high: share === 1 ? 1 : Math.min(1, centre + reach),
  };
}

/**
 * Difference a − b of two independent shares with Newcombe's hybrid score interval: the two Wilson intervals put
 * together. Newcombe 1998, Stat Med 17:873–890, method 10.
 */
export function newcombeDifference(a: Estimate, b: Estimate): Estimate {
  const estimate = a.estimate - b.estimate;
  return {
    estimate,
    stdError: null,
    low: estimate - Math.hypot(a.estimate - a.low, b.high - b.estimate),
    high: estimate + Math.hypot(a.high - a.estimate, b.estimate - b.low),
  };
}
