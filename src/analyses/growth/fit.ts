import { isUnavailable, type Outcome, unavailable } from '../../core/outcome.ts';
import { varianceInterval } from '../../stats/nested-profile.ts';
import { fitNestedSlopes, type NestedSlopesData, type NestedSlopesFit } from '../../stats/nested-slopes.ts';
import { residualLag } from '../../stats/residual-lag.ts';
import type { GrowthAnswer, Spread } from './answer.ts';
import type { GrowthRows } from './data.ts';
import { type GrowthDesign, growthDesign } from './design.ts';
import type { GrowthOptions } from './options.ts';

/** Above this many sums a likelihood interval of a spread would hold up the page; the estimate stands alone. */
const LARGEST_PROFILE = 250_000;

/** With season where the record can show one; without where it cannot, and said. */
export function fitBest(
  rows: GrowthRows,
  options: GrowthOptions,
): { design: GrowthDesign; fit: Outcome<NestedSlopesFit> } {
  const design = growthDesign(rows, options, true);
  const fit = fitNestedSlopes(slopesData(rows, design), { names: design.names });
  if (isUnavailable(fit) && (fit.unavailable === 'collinear' || fit.unavailable === 'no-rows')) {
    const plain = growthDesign(rows, options, false);
    const second = fitNestedSlopes(slopesData(rows, plain), { names: plain.names });
    if (!isUnavailable(second)) return { design: plain, fit: second };
  }
  return { design, fit };
}

function slopesData(rows: GrowthRows, design: GrowthDesign): NestedSlopesData {
  return { days: rows.days, y: rows.amount, x: design.x, cluster: rows.horse, unit: rows.foot };
}

/** The spreads of the model with their intervals, and whether neighbouring changes share a measuring error. */
export function checksOf(
  rows: GrowthRows,
  design: GrowthDesign,
  fit: NestedSlopesFit,
): Pick<GrowthAnswer, 'spreads' | 'lag'> {
  const data = slopesData(rows, design);
  const large = fit.nUnits * design.names.length ** 2 > LARGEST_PROFILE;
  const spreads = (['cluster', 'unit', 'residual'] as const)
    .filter((of) => of === 'residual' || fit.estimable[of])
    .map((of): Spread => {
      const variance = large
        ? unavailable(
            'not-converged',
            'the spreads between horses and feet are shown without intervals: the herd is too large to work them out here.',
          )
        : varianceInterval(data, fit, of);
      if (isUnavailable(variance)) return { of, sd: variance };
      const { estimate, low, high } = variance;
      return {
        of,
        sd: { estimate: Math.sqrt(estimate), stdError: null, low: Math.sqrt(low), high: Math.sqrt(high) },
      };
    });
  // Rows come by foot and date, so their own order is that of time.
  return { spreads, lag: residualLag(data, fit, Float64Array.from(rows.days.keys())) };
}
