import type { NestedSlopesFit } from './nested-slopes.ts';
import { type NestedSlopesData, RATE_DAYS, rowDot } from './nested-sums.ts';

/** Amounts that a fit expects of rows: z·(x'β + û + v̂). A cluster or unit that the fit has not met adds nothing. */
export function nestedFitted(data: Omit<NestedSlopesData, 'y'>, fit: NestedSlopesFit): Float64Array {
  const p = fit.beta.length;
  const clusters = new Map(Array.from(fit.clusterIds, (id, i) => [id, fit.clusterEffects[i]!]));
  const units = new Map(Array.from(fit.unitIds, (id, i) => [id, fit.unitEffects[i]!]));
  return Float64Array.from(
    data.days,
    (days, row) =>
      (days / RATE_DAYS) *
      (rowDot(data.x, row, p, fit.beta) +
        (clusters.get(data.cluster[row]!) ?? 0) +
        (units.get(data.unit[row]!) ?? 0)),
  );
}
