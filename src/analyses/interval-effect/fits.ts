import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import type { BinaryFit } from '../../stats/cloglog.ts';
import type { ResetFit } from '../../stats/onset-since-reset.ts';
import { type ResetMix, type RiskCurve, riskCurve } from '../../stats/standardise.ts';
import { levelPart, mixedCode } from '../alike-rows.ts';
import type { Apart } from '../apart.ts';
import { type AlikeCycles, COMPARISONS, type Comparison } from './alike.ts';
import { mixAtRisk } from './chains.ts';
import type { IntervalRows } from './data.ts';

export interface ComparisonFit {
  readonly comparison: Comparison;
  /** Exact two-state form, the clock set to 0 at each trim. */
  readonly fit: Outcome<ResetFit>;
  /** Risk of the problem at the next visit, averaged over the herd's own mix of cycles that began clear. */
  readonly risk: Outcome<RiskCurve>;
  /** The complementary log-log regression on log(days), the last of its columns, beside it. */
  readonly check: Outcome<BinaryFit>;
}

/** What tells both states apart. */
export function statesOf({ start, end }: Pick<IntervalRows, 'start' | 'end'>): Float64Array {
  const states = new Float64Array(start.length);
  for (let row = 0; row < states.length; row++) states[row] = 2 * start[row]! + end[row]!;
  return states;
}

/** What tells the levels of all groups apart: one column where there are not too many. */
export function groupCodes({ groups, days }: IntervalRows): readonly (Float64Array | Int32Array)[] {
  if (groups.size === 0) return [];
  const all = [...groups.values()];
  const one = mixedCode(all.map(levelPart), days.length);
  return one ? [one] : all.map(({ codes }) => codes);
}

/**
 * Every comparison, fitted by `apart` in two chains that take about as long, and then the risk at `times`, in days, of each.
 * `atOnce`: for two threads, of which another takes the first chain while this one has something else to do. Else one chain
 * comes after the other, so that what they need does not stand side by side.
 */
export async function fitComparisons(
  alike: AlikeCycles,
  times: readonly number[],
  apart: Apart,
  atOnce: boolean,
): Promise<ComparisonFit[]> {
  const fitting = apart('interval fits', alike);
  if (!atOnce) await fitting;
  const checking = apart('interval checks', alike);
  // Whoever waits for both is told of the first that fails.
  checking.catch(() => undefined);
  const mixes = COMPARISONS.map((comparison) => mixAtRisk(alike, comparison));
  const fits = await fitting;
  const risks = await Promise.all(fits.map((fit, k) => riskOf(fit, mixes[k]!, times, apart)));
  const checks = await checking;
  return COMPARISONS.map((comparison, k) => ({
    comparison,
    fit: fits[k]!,
    risk: risks[k]!,
    check: checks[k]!,
  }));
}

/** Averaged over the mix in two stretches of the times, one for each thread. */
async function riskOf(
  fit: Outcome<ResetFit>,
  mix: ResetMix,
  times: readonly number[],
  apart: Apart,
): Promise<Outcome<RiskCurve>> {
  if (isUnavailable(fit)) return fit;
  // Where the exponent was held, a risk curve would only draw the assumption.
  if (isUnavailable(fit.exponent)) return fit.exponent;
  const { onsetTerms, clearingTerms, theta, limits, referenceTime, yearTime } = fit;
  const needed = { onsetTerms, clearingTerms, theta, limits, referenceTime, yearTime };
  const half = Math.ceil(times.length / 2);
  const stretches = [times.slice(0, half), times.slice(half)].filter((some) => some.length > 0);
  const parts = await Promise.all(
    stretches.map((some) => apart('risk by time', { fit: needed, mix, times: some })),
  );
  const known = parts.flatMap((part) => (isUnavailable(part) ? [] : [part]));
  return known.length === parts.length ? riskCurve(fit, known) : parts.find(isUnavailable)!;
}
