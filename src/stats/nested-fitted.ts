import type { NestedSlopesFit } from './nested-slopes.ts';
import { type NestedSlopesData, RATE_DAYS, rowDot } from './nested-sums.ts';

/** Amounts that a fit expects of rows: z·(x'β + û + v̂). A cluster or unit that the fit has not met adds nothing. */
export function nestedFitted(data: Omit<NestedSlopesData, 'y'>, fit: NestedSlopesFit): Float64Array {
  const p = fit.beta.length;
  const { days, x, cluster, unit } = data;
  const ofCluster = effectsOf(cluster, fit.clusterIds, fit.clusterEffects);
  const ofUnit = effectsOf(unit, fit.unitIds, fit.unitEffects);
  const fitted = new Float64Array(days.length);
  for (let row = 0; row < fitted.length; row++) {
    fitted[row] = (days[row]! / RATE_DAYS) * (rowDot(x, row, p, fit.beta) + ofCluster[row]! + ofUnit[row]!);
  }
  return fitted;
}

/** Of each row its effect by its id. Rows of an id mostly stand together. */
function effectsOf(rowIds: Int32Array, ids: Int32Array, effects: Float64Array): Float64Array {
  const place = new Map(Array.from(ids, (id, i) => [id, i]));
  const found = new Float64Array(rowIds.length);
  let [last, effect] = [Number.NaN, 0];
  for (let row = 0; row < found.length; row++) {
    const id = rowIds[row]!;
    if (id !== last) {
      effect = effects[place.get(id) ?? -1] ?? 0;
      last = id;
    }
    found[row] = effect;
  }
  return found;
}
