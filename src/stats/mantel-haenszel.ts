import { type Estimate, type Outcome, unavailable } from '../core/outcome.ts';
import { normalMultiplier } from './distributions.ts';

/** One stratum: rows with and without the event, among exposed and unexposed. */
export interface Stratum {
  readonly exposedEvents: number;
  readonly exposedRows: number;
  readonly unexposedEvents: number;
  readonly unexposedRows: number;
}

export interface MantelHaenszel {
  /** Pooled risk difference, exposed less unexposed. */
  readonly riskDifference: Estimate;
  /** Null where the unexposed (or exposed) have no event in any stratum that compares. */
  readonly riskRatio: Estimate | null;
  readonly oddsRatio: Estimate | null;
  /** Places of strata that hold both exposed and unexposed rows: the only ones that say anything. */
  readonly comparing: readonly number[];
  /** Places of strata without overlap: no evidence there. */
  readonly withoutOverlap: readonly number[];
  readonly nCompared: number;
}

/**
 * Exposed against unexposed within strata, pooled. Risk difference with Sato's variance (Sato 1989, Biometrics
 * 45:1323–1324), risk ratio with Greenland and Robins's (1985, Biometrics 41:55–68), odds ratio with Robins, Breslow and
 * Greenland's (1986, Biometrics 42:311–323); weights of Mantel & Haenszel 1959. Rows are taken as independent:
 * for rows that are alike within clusters use `jackknifeMantelHaenszel`. Typed `no-overlap`, `no-events`,
 * `all-events`.
 */
export function mantelHaenszel(strata: readonly Stratum[], confidence = 0.95): Outcome<MantelHaenszel> {
  strata.forEach(checkStratum);
  const places = strata.map((_, i) => i);
  const comparing = places.filter((i) => strata[i]!.exposedRows > 0 && strata[i]!.unexposedRows > 0);
  const withoutOverlap = places.filter((i) => !comparing.includes(i));
  if (comparing.length === 0) {
    return unavailable(
      'no-overlap',
      'no group holds records of both kinds, so there is nothing to compare: no evidence here.',
    );
  }
  const used = comparing.map((i) => strata[i]!);
  const total = (f: (s: Stratum) => number) => used.reduce((sum, s) => sum + f(s), 0);
  const nCompared = total(rowsOf);
  const events = total((s) => s.exposedEvents + s.unexposedEvents);
  if (events === 0)
    return unavailable('no-events', 'there is not a single case among the records that can be compared.');
  if (events === nCompared) return unavailable('all-events', 'every record that can be compared is a case.');
  const z = normalMultiplier(confidence);
  return {
    riskDifference: riskDifference(used, z),
    riskRatio: riskRatio(used, z),
    oddsRatio: oddsRatio(used, z),
    comparing,
    withoutOverlap,
    nCompared,
  };
}

/** Pooled point estimates alone; NaN-free: null where a denominator is 0. For resampling. */
export function pooledPoints(strata: readonly Stratum[]) {
  let [dn, dw, rn, rd, on, od] = [0, 0, 0, 0, 0, 0];
  for (const s of strata) {
    if (s.exposedRows <= 0 || s.unexposedRows <= 0) continue;
    const t = rowsOf(s);
    dn += (s.exposedEvents * s.unexposedRows - s.unexposedEvents * s.exposedRows) / t;
    dw += (s.exposedRows * s.unexposedRows) / t;
    rn += (s.exposedEvents * s.unexposedRows) / t;
    rd += (s.unexposedEvents * s.exposedRows) / t;
    on += (s.exposedEvents * (s.unexposedRows - s.unexposedEvents)) / t;
    od += (s.unexposedEvents * (s.exposedRows - s.exposedEvents)) / t;
  }
  return {
    riskDifference: dw > 0 ? dn / dw : null,
    riskRatio: rn > 0 && rd > 0 ? rn / rd : null,
    oddsRatio: on > 0 && od > 0 ? on / od : null,
  };
}

function riskDifference(strata: readonly Stratum[], z: number): Estimate {
  const estimate = pooledPoints(strata).riskDifference!;
  let [p, q, w] = [0, 0, 0];
  for (const s of strata) {
    const t = rowsOf(s);
    const [a, c, n1, n0] = [s.exposedEvents, s.unexposedEvents, s.exposedRows, s.unexposedRows];
    w += (n1 * n0) / t;
    p += (n1 * n1 * c - n0 * n0 * a + (n1 * n0 * (n0 - n1)) / 2) / (t * t);
    q += (a * (n0 - c) + c * (n1 - a)) / (2 * t);
  }
  const stdError = Math.sqrt(Math.max(0, estimate * p + q)) / w;
  return {
    estimate,
    stdError,
    low: Math.max(-1, estimate - z * stdError),
    high: Math.min(1, estimate + z * stdError),
  };
}

function riskRatio(strata: readonly Stratum[], z: number): Estimate | null {
  const ratio = pooledPoints(strata).riskRatio;
  if (ratio === null) return null;
  let [v, rn, rd] = [0, 0, 0];
  for (const s of strata) {
    const t = rowsOf(s);
    const [a, c, n1, n0] = [s.exposedEvents, s.unexposedEvents, s.exposedRows, s.unexposedRows];
    v += (n1 * n0 * (a + c) - a * c * t) / (t * t);
    rn += (a * n0) / t;
    rd += (c * n1) / t;
  }
  return onLogarithm(ratio, Math.sqrt(v / (rn * rd)), z);
}

function oddsRatio(strata: readonly Stratum[], z: number): Estimate | null {
  const ratio = pooledPoints(strata).oddsRatio;
  if (ratio === null) return null;
  let [pr, mixed, qs, r, s] = [0, 0, 0, 0, 0];
  for (const stratum of strata) {
    const t = rowsOf(stratum);
    const a = stratum.exposedEvents;
    const c = stratum.unexposedEvents;
    const b = stratum.exposedRows - a;
    const d = stratum.unexposedRows - c;
    const [p, q] = [(a + d) / t, (b + c) / t];
    const [rk, sk] = [(a * d) / t, (b * c) / t];
    pr += p * rk;
    mixed += p * sk + q * rk;
    qs += q * sk;
    r += rk;
    s += sk;
  }
  return onLogarithm(ratio, Math.sqrt(pr / (2 * r * r) + mixed / (2 * r * s) + qs / (2 * s * s)), z);
}

/** Estimate of a ratio whose interval is symmetric on the logarithm; its standard error is the ratio's own. */
export function onLogarithm(ratio: number, logError: number, multiplier: number): Estimate {
  const reach = Math.exp(multiplier * logError);
  return { estimate: ratio, stdError: ratio * logError, low: ratio / reach, high: ratio * reach };
}

function rowsOf(s: Stratum): number {
  return s.exposedRows + s.unexposedRows;
}

function checkStratum(s: Stratum, place: number): void {
  for (const [events, rows] of [
    [s.exposedEvents, s.exposedRows],
    [s.unexposedEvents, s.unexposedRows],
  ] as const) {
    if (!(events >= 0 && rows >= events && Number.isFinite(rows))) {
      throw new Error(`stratum ${place} must have 0 ≤ events ≤ rows: ${events}, ${rows}`);
    }
  }
}
