import { type Estimate, type Outcome, unavailable } from '../core/outcome.ts';
import { normalMultiplier } from './distributions.ts';
import type { NestedSlopesFit } from './nested-slopes.ts';
import { type NestedSlopesData, RATE_DAYS, rowDot } from './nested-sums.ts';

export interface ResidualLag extends Estimate {
  readonly nPairs: number;
  /**
   * True where the whole interval lies below −0.1: then neighbouring amounts seem to share a measured end, the errors
   * are not independent as the fit takes them to be, and standard errors are off.
   */
  readonly sharedEnds: boolean;
}

/**
 * Correlation of each residual with the next one of its unit, in the order of `order` (a day number a row). Amounts that
 * share a measured end give a correlation near −1/2, independent errors one slightly below 0 (the fitted effects
 * take a little away). Interval by Fisher's z (Fisher 1921, Metron 1:3–32). Needs 20 pairs.
 */
export function residualLag(
  data: NestedSlopesData,
  fit: NestedSlopesFit,
  order: Float64Array,
): Outcome<ResidualLag> {
  const n = data.y.length;
  if (order.length !== n) throw new Error(`order must hold ${n} values: ${order.length}`);
  const p = fit.beta.length;
  const place = new Map(Array.from(fit.unitIds, (id, i) => [id, i]));
  const rowUnit = new Int32Array(n);
  const residual = new Float64Array(n);
  const { x, y, days, unit: ids } = data;
  const { beta } = fit;
  let isSorted = true;
  let unit = -1;
  let effects = 0;
  for (let row = 0; row < n; row++) {
    if (row > 0 && ids[row] === ids[row - 1]) {
      if (order[row]! < order[row - 1]!) isSorted = false;
    } else {
      const before = unit;
      unit = place.get(ids[row]!)!;
      effects = fit.unitEffects[unit]! + fit.clusterEffects[fit.unitCluster[unit]!]!;
      if (unit < before) isSorted = false;
    }
    rowUnit[row] = unit;
    residual[row] = y[row]! - (days[row]! / RATE_DAYS) * (rowDot(x, row, p, beta) + effects);
  }
  const rows = new Uint32Array(n);
  for (let row = 0; row < n; row++) rows[row] = row;
  if (!isSorted) rows.sort((a, b) => rowUnit[a]! - rowUnit[b]! || order[a]! - order[b]! || a - b);
  let [nPairs, cross, first, second] = [0, 0, 0, 0];
  for (let i = 1; i < n; i++) {
    const [a, b] = [rows[i - 1]!, rows[i]!];
    if (rowUnit[a] !== rowUnit[b]) continue;
    nPairs++;
    cross += residual[a]! * residual[b]!;
    first += residual[a]! ** 2;
    second += residual[b]! ** 2;
  }
  if (nPairs < 20 || first === 0 || second === 0) {
    return unavailable(
      'no-rows',
      `only ${nPairs} pairs of neighbouring records: too few to check the measuring.`,
    );
  }
  const estimate = cross / Math.sqrt(first * second);
  const reach = normalMultiplier(fit.confidence) / Math.sqrt(nPairs - 3);
  const high = Math.tanh(Math.atanh(estimate) + reach);
  return {
    estimate,
    stdError: null,
    low: Math.tanh(Math.atanh(estimate) - reach),
    high,
    nPairs,
    sharedEnds: high < -0.1,
  };
}
