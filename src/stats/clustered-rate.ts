import { type Estimate, type Outcome, unavailable } from '../core/outcome.ts';
import { studentMultiplier } from './distributions.ts';
import { numberIds } from './number-keys.ts';

export interface ClusteredRate extends Estimate {
  readonly nRows: number;
  readonly nClusters: number;
}

/**
 * Ratio of sums r = Σy/Σz (amount per unit of exposure) of n rows that are alike within clusters: linearised variance
 * G/(G − 1) Σ_g (y_g − r z_g)² / (Σz)², Student's t on G − 1. Rates of two amounts over one exposure add up exactly.
 * Typed `no-rows` (no row, or no exposure), `one-cluster`, `one-level` where all clusters agree exactly. Throws on
 * arrays of unequal length, and values that are not finite. Cochran 1977, Sampling Techniques, ch. 6.
 */
export function clusteredRate(
  amount: Float64Array,
  exposure: Float64Array,
  cluster: Int32Array,
  confidence = 0.95,
): Outcome<ClusteredRate> {
  const n = amount.length;
  for (const [name, values] of [
    ['exposure', exposure],
    ['cluster', cluster],
  ] as const) {
    if (values.length !== n) throw new Error(`${name} must hold ${n} values: ${values.length}`);
  }
  for (const [name, values] of [
    ['amount', amount],
    ['exposure', exposure],
  ] as const) {
    for (let row = 0; row < n; row++) {
      if (!Number.isFinite(values[row]!)) throw new Error(`${name} must be finite: ${values[row]} at ${row}`);
    }
  }
  let [total, grown, size] = [0, 0, 0];
  for (let row = 0; row < n; row++) {
    total += exposure[row]!;
    grown += amount[row]!;
    size += amount[row]! * amount[row]!;
  }
  if (n === 0 || !(total > 0)) return unavailable('no-rows', 'there are no records to work from.');
  const { numberOf: codes, firstRow } = numberIds(cluster);
  const count = firstRow.length;
  if (count < 2) {
    return unavailable(
      'one-cluster',
      'all records belong to one group, so how far groups differ cannot be judged.',
    );
  }
  const estimate = grown / total;
  const apart = new Float64Array(count);
  for (let row = 0; row < n; row++) apart[codes[row]!]! += amount[row]! - estimate * exposure[row]!;
  const squares = apart.reduce((sum, d) => sum + d * d, 0);
  if (squares <= 1e-20 * size || size === 0) {
    return unavailable(
      'one-level',
      'the records agree with each other exactly, so there is no spread to judge by.',
    );
  }
  const stdError = Math.sqrt((count / (count - 1)) * squares) / total;
  const reach = stdError * studentMultiplier(count - 1, confidence);
  return {
    estimate,
    stdError,
    low: estimate - reach,
    high: estimate + reach,
    nRows: n,
    nClusters: count,
  };
}
