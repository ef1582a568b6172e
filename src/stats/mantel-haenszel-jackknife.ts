import { type Estimate, isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import { denseCodes } from './cluster-covariance.ts';
import { studentMultiplier } from './distributions.ts';
import {
  type MantelHaenszel,
  mantelHaenszel,
  onLogarithm,
  pooledPoints,
  type Stratum,
} from './mantel-haenszel.ts';

/** One row each: stratum 0 … K − 1, exposed 0/1, event 0/1, cluster id. */
export interface StratifiedRows {
  readonly stratum: Int32Array;
  readonly exposed: Uint8Array;
  readonly event: Uint8Array;
  readonly cluster: Int32Array;
}

/** Rows counted into K strata. */
export function strataOf(rows: StratifiedRows, nStrata: number): Stratum[] {
  return count(rows, nStrata).map(({ counts }) => toStratum(counts));
}

/**
 * Mantel–Haenszel estimates whose intervals allow for rows that are alike within clusters: each cluster is left out
 * in turn, variance (G − 1)/G Σ(θ₍g₎ − mean)², on the logarithm for ratios; Student's multiplier with G − 1 degrees of
 * freedom. A ratio that vanishes when some cluster is left out has no interval and is null. Typed as
 * `mantelHaenszel`, and `one-cluster`. Efron & Stein 1981, Ann Stat 9:586–596; Rao & Wu 1988, JASA 83:231–241.
 */
export function jackknifeMantelHaenszel(
  rows: StratifiedRows,
  nStrata: number,
  confidence = 0.95,
): Outcome<MantelHaenszel & { readonly nClusters: number }> {
  const table = count(rows, nStrata);
  const whole = mantelHaenszel(
    table.map(({ counts }) => toStratum(counts)),
    confidence,
  );
  if (isUnavailable(whole)) return whole;
  const { codes, count: clusters } = denseCodes(rows.cluster);
  // Clusters with no row in a comparing stratum say nothing and would only dilute.
  const comparing = new Set(whole.comparing);
  const own: Map<number, Float64Array>[] = Array.from({ length: clusters }, () => new Map());
  for (let row = 0; row < codes.length; row++) {
    const stratum = rows.stratum[row]!;
    if (!comparing.has(stratum)) continue;
    const mine = own[codes[row]!]!;
    let counts = mine.get(stratum);
    if (!counts) {
      counts = new Float64Array(4);
      mine.set(stratum, counts);
    }
    counts[cell(rows, row)]!++;
  }
  const taking = own.filter((mine) => mine.size > 0);
  const nClusters = taking.length;
  if (nClusters < 2) {
    return unavailable(
      'one-cluster',
      'the records that can be compared all belong to one group, so their spread cannot be judged.',
    );
  }
  const strata = table.map(({ counts }) => toStratum(counts));
  const replicates = taking.map((mine) => {
    for (const [k, counts] of mine) strata[k] = toStratum(table[k]!.counts.map((all, i) => all - counts[i]!));
    const points = pooledPoints(strata);
    for (const k of mine.keys()) strata[k] = toStratum(table[k]!.counts);
    return points;
  });
  const multiplier = studentMultiplier(nClusters - 1, confidence);
  const spread = (values: readonly (number | null)[]): number | null => {
    if (values.some((value) => value === null)) return null;
    const mean = values.reduce<number>((sum, value) => sum + value!, 0) / nClusters;
    return Math.sqrt(
      ((nClusters - 1) / nClusters) * values.reduce<number>((sum, v) => sum + (v! - mean) ** 2, 0),
    );
  };
  const ratio = (name: 'riskRatio' | 'oddsRatio'): Estimate | null => {
    const error = spread(replicates.map((r) => (r[name] === null ? null : Math.log(r[name]))));
    return whole[name] && error !== null ? onLogarithm(whole[name].estimate, error, multiplier) : null;
  };
  const error = spread(replicates.map((r) => r.riskDifference));
  if (error === null) {
    return unavailable(
      'no-overlap',
      'the comparison hangs on the records of one group alone, so its spread cannot be judged.',
    );
  }
  const { estimate } = whole.riskDifference;
  return {
    ...whole,
    riskDifference: {
      estimate,
      stdError: error,
      low: Math.max(-1, estimate - multiplier * error),
      high: Math.min(1, estimate + multiplier * error),
    },
    riskRatio: ratio('riskRatio'),
    oddsRatio: ratio('oddsRatio'),
    nClusters,
  };
}

interface Counted {
  readonly counts: Float64Array;
}

/** 0 exposed event, 1 exposed none, 2 unexposed event, 3 unexposed none. */
function cell(rows: StratifiedRows, row: number): number {
  return (rows.exposed[row] ? 0 : 2) + (rows.event[row] ? 0 : 1);
}

function count(rows: StratifiedRows, nStrata: number): Counted[] {
  const table = Array.from({ length: nStrata }, () => ({ counts: new Float64Array(4) }));
  for (const name of ['exposed', 'event', 'cluster'] as const) {
    if (rows[name].length !== rows.stratum.length) {
      throw new Error(`${name} must hold ${rows.stratum.length} values: ${rows[name].length}`);
    }
  }
  for (let row = 0; row < rows.stratum.length; row++) {
    const entry = table[rows.stratum[row]!];
    if (!entry) throw new Error(`stratum must lie between 0 and ${nStrata - 1}: ${rows.stratum[row]}`);
    entry.counts[cell(rows, row)]!++;
  }
  return table;
}

function toStratum(counts: Float64Array): Stratum {
  return {
    exposedEvents: counts[0]!,
    exposedRows: counts[0]! + counts[1]!,
    unexposedEvents: counts[2]!,
    unexposedRows: counts[2]! + counts[3]!,
  };
}
