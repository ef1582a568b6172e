import { civilDay, YEAR_DAYS } from '../../core/civil-day.ts';
import type { Estimate } from '../../core/outcome.ts';
import { seasonalWave } from '../../stats/seasonal.ts';
import type { HerdFigures } from './answer.ts';

interface SeasonSummary {
  /** mm per 30 days either side of the year's mean. */
  readonly amplitude: Estimate;
  /** Day of the year of fastest growth, 1 = 1 January; limits may run past the year's ends. Null where no wave stands out. */
  readonly peakDay: Estimate | null;
}

/** The yearly rise and fall; null where season was not fitted. */
export function seasonSummary({ design, fit }: HerdFigures): SeasonSummary | null {
  if (!design.season) return null;
  const { cos, sin } = design.season;
  const p = design.names.length;
  const at = (i: number, j: number): number => fit.covariance[i * p + j]!;
  const covariance = Float64Array.of(at(cos, cos), at(cos, sin), at(sin, cos), at(sin, sin));
  const wave = seasonalWave(fit.beta[cos]!, fit.beta[sin]!, covariance);
  if (wave.undetermined) return { amplitude: wave.amplitude, peakDay: null };
  // Days are counted from 1970-01-01; mean years drift from the calendar by under a day, and 2001 stands for any year.
  const shift = (civilDay(2001, 1, 1)! % YEAR_DAYS) - 1;
  const turn = wave.peakDay.estimate - shift < 1 ? YEAR_DAYS : 0;
  const moved = (day: number): number => day - shift + turn;
  const { stdError, low, high, estimate } = wave.peakDay;
  return {
    amplitude: wave.amplitude,
    peakDay: { estimate: moved(estimate), stdError, low: moved(low), high: moved(high) },
  };
}
