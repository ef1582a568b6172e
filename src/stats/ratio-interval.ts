import { type Estimate, type Outcome, unavailable } from '../core/outcome.ts';
import { studentMultiplier } from './distributions.ts';

/** An estimate with its standard error. */
interface Known {
  readonly estimate: number;
  readonly stdError: number | null;
}

/**
 * Ratio a/b of two independent estimates with Fieller's interval: the ratios r at which a − r·b is not told from 0, so
 * that its ends need not lie equally far. Student's t. `no-overlap` where b is not told from 0, so that the ratio has no
 * bound. Fieller 1954, J R Stat Soc B 16:175–185.
 */
export function ratioInterval(a: Known, b: Known, degrees: number, confidence = 0.95): Outcome<Estimate> {
  const t = studentMultiplier(degrees, confidence);
  const [va, vb] = [(a.stdError ?? 0) ** 2, (b.stdError ?? 0) ** 2];
  const ratio = a.estimate / b.estimate;
  const g = (t * t * vb) / b.estimate ** 2;
  if (!(b.estimate > 0) || g >= 1) {
    return unavailable(
      'no-overlap',
      'what it is divided by is known too poorly for the ratio to have a bound.',
    );
  }
  const reach = (t / b.estimate) * Math.sqrt(va * (1 - g) + ratio ** 2 * vb);
  return {
    estimate: ratio,
    stdError: Math.sqrt(va + ratio ** 2 * vb) / b.estimate,
    low: (ratio - reach) / (1 - g),
    high: (ratio + reach) / (1 - g),
  };
}
