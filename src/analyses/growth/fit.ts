import { isUnavailable, type Outcome, unavailable } from '../../core/outcome.ts';
import { varianceIntervals } from '../../stats/nested-profile.ts';
import { fitNestedSlopes, type NestedSlopesFit } from '../../stats/nested-slopes.ts';
import type { NestedSlopesData } from '../../stats/nested-sums.ts';
import { residualLag } from '../../stats/residual-lag.ts';
import { type AnalysisContext, type AskContext, remembered } from '../analysis.ts';
import { cycleTable } from '../cycle-table.ts';
import type { GrowthAnswer, Spread } from './answer.ts';
import { coversYear } from './covers-year.ts';
import { type GrowthRows, gatherGrowth, growthAsk, growthRowsWhere } from './data.ts';
import { type GrowthDesign, growthDesign } from './design.ts';
import type { GrowthOptions } from './options.ts';

/** Above this many sums a likelihood interval of a spread would hold up the page; the estimate stands alone. */
const LARGEST_PROFILE = 250_000;

/** The model over the rows that its groupings leave, with their condition: asked for by several entries. */
export function fittedGrowth(
  options: GrowthOptions,
  context: AskContext,
): Promise<{ rows: GrowthRows; design: GrowthDesign; fit: Outcome<NestedSlopesFit>; where: string }> {
  const { measure, by, adjust } = options;
  return remembered(context, `growth fit ${JSON.stringify([measure, by, adjust])}`, async () => {
    const rows = gatherGrowth(await cycleTable(context, growthAsk(options)));
    return { rows, where: growthRowsWhere(options), ...fitBest(rows, options) };
  });
}

/** With season where the record can show one; without where it cannot, and said. */
export function fitBest(
  rows: GrowthRows,
  options: GrowthOptions,
): { design: GrowthDesign; fit: Outcome<NestedSlopesFit> } {
  // Of part of a year the sums could be solved, but the year's mean would be made up.
  const design = growthDesign(rows, options, coversYear(rows));
  const fit = fitNestedSlopes(slopesData(rows, design), { names: design.names });
  if (!design.season) return { design, fit };
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

/** Whether neighbouring changes share a measuring error. */
export function lagOf(rows: GrowthRows, design: GrowthDesign, fit: NestedSlopesFit): GrowthAnswer['lag'] {
  // Rows come by foot and date, so their own order is that of time.
  const time = new Float64Array(rows.days.length);
  for (let row = 0; row < time.length; row++) time[row] = row;
  return residualLag(slopesData(rows, design), fit, time);
}

/** The spreads of the model with their intervals. */
export function spreadsOf(
  { rows, design, fit, options }: Pick<GrowthAnswer, 'rows' | 'design' | 'fit' | 'options'>,
  context: Pick<AnalysisContext, 'remember'>,
): Promise<readonly Spread[]> {
  const { measure, by, adjust } = options;
  const key = `growth spreads ${JSON.stringify([measure, by, adjust])}`;
  return remembered(context, key, async () => spreads(slopesData(rows, design), design, fit));
}

function spreads(data: NestedSlopesData, design: GrowthDesign, fit: NestedSlopesFit): Spread[] {
  const large = fit.nUnits * design.names.length ** 2 > LARGEST_PROFILE;
  const interval = large ? null : varianceIntervals(data, fit);
  return (['cluster', 'unit', 'residual'] as const)
    .filter((of) => of === 'residual' || fit.estimable[of])
    .map((of): Spread => {
      const variance = !interval
        ? unavailable(
            'not-converged',
            'the spreads between horses and feet are shown without intervals: the herd is too large to work them out here.',
          )
        : interval(of);
      if (isUnavailable(variance)) return { of, sd: variance };
      const { estimate, low, high } = variance;
      return {
        of,
        sd: { estimate: Math.sqrt(estimate), stdError: null, low: Math.sqrt(low), high: Math.sqrt(high) },
      };
    });
}
