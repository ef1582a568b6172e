import { YEAR_DAYS } from '../core/civil-day.ts';
import type { Estimate } from '../core/outcome.ts';
import { checkConfidence, chiSquareQuantile } from './distributions.ts';

/**
 * Means of cos ωt and sin ωt over a stretch from day t0 to day t1 (ω = 2π/period): what a yearly wave adds, on
 * average, to a rate over that stretch. At the midpoint instead, an eight-week stretch would lose 4 % of the wave.
 */
export function meanWave(t0: number, t1: number, period = YEAR_DAYS): { cosine: number; sine: number } {
  if (!(t1 >= t0)) throw new Error(`t1 must not lie before t0: ${t0}, ${t1}`);
  const w = (2 * Math.PI) / period;
  const half = (w * (t1 - t0)) / 2;
  const middle = (w * (t0 + t1)) / 2;
  // Equal to (sin ωt1 − sin ωt0)/(ωd), without its loss of digits for short stretches and late days.
  const damping = half === 0 ? 1 : Math.sin(half) / half;
  return { cosine: Math.cos(middle) * damping, sine: Math.sin(middle) * damping };
}

interface SeasonalWave {
  /** Half the distance from trough to peak, in the unit of the coefficients. Never negative. */
  readonly amplitude: Estimate;
  /**
   * Day of the period, 0 ≤ day < period, with the greatest value. `low` and `high` run on without wrapping (low may be
   * below 0, high above the period). Where `undetermined`, they are half a period away: any day is possible.
   */
  readonly peakDay: Estimate;
  /** True where no wave at all lies within the joint confidence region. */
  readonly undetermined: boolean;
}

/** Shape of a wave A cos ωt + B sin ωt from its two coefficients and their 2 × 2 covariance (row-major). */
export function seasonalWave(
  cosine: number,
  sine: number,
  covariance: Float64Array,
  options: { readonly period?: number; readonly confidence?: number } = {},
): SeasonalWave {
  const period = options.period ?? YEAR_DAYS;
  const confidence = options.confidence ?? 0.95;
  checkConfidence(confidence);
  const [vaa, vab, , vbb] = covariance;
  if (covariance.length !== 4 || !(vaa! > 0 && vbb! > 0 && vaa! * vbb! > vab! ** 2)) {
    throw new Error(`covariance must be 2 × 2 and positive definite: ${Array.from(covariance).join(', ')}`);
  }
  const ellipse = { cosine, sine, vaa: vaa!, vab: vab!, vbb: vbb! };
  const size = Math.hypot(cosine, sine);
  const distance =
    (vbb! * cosine ** 2 - 2 * vab! * cosine * sine + vaa! * sine ** 2) / (vaa! * vbb! - vab! ** 2);
  const undetermined = distance <= chiSquareQuantile(confidence, 2);
  const one = chiSquareQuantile(confidence, 1);
  const [least, most] = reachFromOrigin(ellipse, one);
  return {
    amplitude: {
      estimate: size,
      stdError: undetermined ? null : amplitudeError(ellipse, size),
      low: undetermined ? 0 : least,
      high: most,
    },
    peakDay: peakInterval(ellipse, one, undetermined, period),
    undetermined,
  };
}

interface Ellipse {
  readonly cosine: number;
  readonly sine: number;
  readonly vaa: number;
  readonly vab: number;
  readonly vbb: number;
}

function amplitudeError({ cosine, sine, vaa, vab, vbb }: Ellipse, size: number): number {
  return Math.sqrt(cosine ** 2 * vaa + 2 * cosine * sine * vab + sine ** 2 * vbb) / size;
}

/**
 * Least and greatest length of (A, B) within the Wald region of `quantile`: the profile interval of the amplitude. Unlike
 * the delta method's it is never negative and needs no division by the amplitude.
 */
function reachFromOrigin({ cosine, sine, vaa, vab, vbb }: Ellipse, quantile: number): [number, number] {
  const l11 = Math.sqrt(vaa);
  const l21 = vab / l11;
  const l22 = Math.sqrt(vbb - l21 ** 2);
  const k = Math.sqrt(quantile);
  const length = (angle: number) =>
    Math.hypot(
      cosine + k * l11 * Math.cos(angle),
      sine + k * (l21 * Math.cos(angle) + l22 * Math.sin(angle)),
    );
  const extreme = (sign: 1 | -1) => {
    const steps = 360;
    let best = 0;
    for (let i = 1; i < steps; i++) {
      if (sign * length((2 * Math.PI * i) / steps) > sign * length((2 * Math.PI * best) / steps)) best = i;
    }
    let [a, b] = [(2 * Math.PI * (best - 1)) / steps, (2 * Math.PI * (best + 1)) / steps];
    const golden = (Math.sqrt(5) - 1) / 2;
    for (let i = 0; i < 60; i++) {
      const [x, y] = [b - golden * (b - a), a + golden * (b - a)];
      if (sign * length(x) > sign * length(y)) b = y;
      else a = x;
    }
    return length((a + b) / 2);
  };
  return [extreme(-1), extreme(1)];
}

/**
 * Days whose wave has no slope at the peak within error: |A sin φ − B cos φ| ≤ z·its standard error, the part that holds
 * the estimate. Exact for the direction of a normal pair (Fieller 1954, J R Stat Soc B 16:175–185); the tangents
 * from the origin to the ellipse.
 */
function peakInterval(e: Ellipse, quantile: number, undetermined: boolean, period: number): Estimate {
  const angle = Math.atan2(e.sine, e.cosine);
  const days = (radians: number) => (radians / (2 * Math.PI)) * period;
  const estimate = ((days(angle) % period) + period) % period;
  if (undetermined)
    return { estimate, stdError: null, low: estimate - period / 2, high: estimate + period / 2 };
  // Above 0 where a peak turned by so much is told from this one.
  const excess = (turn: number) => {
    const [c, s] = [Math.cos(angle + turn), Math.sin(angle + turn)];
    const spread = s * s * e.vaa - 2 * s * c * e.vab + c * c * e.vbb;
    return (e.cosine * s - e.sine * c) ** 2 - quantile * spread;
  };
  const edge = (sign: 1 | -1) => {
    let [inside, outside] = [0, Math.PI / 2];
    // Outside the ellipse the tangent lies within a quarter turn; step out to the first sign change.
    for (let i = 1; i <= 200; i++) {
      if (excess((sign * i * Math.PI) / 400) > 0) {
        outside = (i * Math.PI) / 400;
        inside = ((i - 1) * Math.PI) / 400;
        break;
      }
    }
    for (let i = 0; i < 60; i++) {
      const middle = (inside + outside) / 2;
      if (excess(sign * middle) > 0) outside = middle;
      else inside = middle;
    }
    return days((inside + outside) / 2);
  };
  const size = Math.hypot(e.cosine, e.sine);
  const variance = (e.sine ** 2 * e.vaa - 2 * e.sine * e.cosine * e.vab + e.cosine ** 2 * e.vbb) / size ** 4;
  return {
    estimate,
    stdError: days(Math.sqrt(variance)),
    low: estimate - edge(-1),
    high: estimate + edge(1),
  };
}
