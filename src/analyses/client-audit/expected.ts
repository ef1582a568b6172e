import { isUnavailable, type Outcome, unavailable } from '../../core/outcome.ts';
import { type FactorRisk, factorRisk } from '../../stats/factor-risk.ts';
import {
  type BetweenUnits,
  betweenUnits,
  funnelLimits,
  LEAST_WORTH,
  observedOverExpected,
} from '../../stats/funnel.ts';
import { dispersionOf } from '../../stats/poisson.ts';
import { isComparable } from '../few-horses.ts';
import type { Counts } from '../format.ts';
import { countOf, type Grouping } from '../groups.ts';
import type { ClientRows } from './data.ts';
import type { ClientOptions } from './options.ts';

/** Below this share of the records a client moves the herd's risks too little to be left out of them. */
const LEFT_OUT_FROM = 0.005;

type Verdict =
  | 'as expected'
  | 'more than expected'
  | 'far more than expected'
  | 'fewer than expected'
  | 'far fewer than expected';

export interface ClientFigure {
  readonly client: string;
  readonly counts: Counts;
  readonly observed: number;
  readonly expected: number;
  /** Observed over expected; the interval allows for alike feet and for the expected number being an estimate. */
  readonly ratio: { readonly estimate: number; readonly low: number; readonly high: number };
  /** Share of the cycles at risk that are this client's. */
  readonly coverage: number;
  readonly isLeftOut: boolean;
  /** Cycles of levels that no other client's records tell of. */
  readonly unmatched: number;
  readonly meanWeeks: number;
  /** How much more its count varies than chance around the number expected: alike feet, and that number an estimate. */
  readonly wide: number;
  readonly limits95: { readonly low: number; readonly high: number };
  readonly limits998: { readonly low: number; readonly high: number };
  readonly verdict: Verdict;
}

/** A client of whom its records tell too little. */
export interface SmallClient {
  readonly client: string;
  readonly counts: Counts;
  readonly observed: number;
  readonly why: string;
}

export interface ClientExpectations {
  /** By name. */
  readonly clients: readonly ClientFigure[];
  /** By name. */
  readonly small: readonly SmallClient[];
  /** How much more counts vary than chance, for the feet of one horse are alike. */
  readonly dispersion: number;
  readonly between: BetweenUnits;
}

interface Patterns {
  /** Of each row at risk; −1 for the others. */
  readonly of: Int32Array;
  readonly factors: readonly { readonly codes: Int32Array; readonly levels: number }[];
  readonly covariates: readonly Float64Array[];
  readonly trials: Float64Array;
  readonly events: Float64Array;
}

/** Each client's new cases seen at the next visit against those expected from the records of the others. */
export function expectations(
  rows: ClientRows,
  held: readonly Grouping[],
  { interval, spread }: ClientOptions,
): Outcome<ClientExpectations> {
  const total = rows.atRisk.reduce((sum, own) => sum + own.length, 0);
  if (total === 0) return unavailable('no-rows', 'no foot was clear after a trim and graded again.');
  if (rows.atRisk.filter((own) => own.length > 0).length < 2) {
    return unavailable('one-cluster', 'all records are of one client, so there is nobody to compare with.');
  }
  const patterns = patternsOf(rows, held, interval === 'held');
  const all = factorRisk(patterns);
  if (isUnavailable(all)) return all;
  const dispersion = horseDispersion(rows, patterns, all.risk, all.parameters);
  const small: SmallClient[] = [];
  const rough: Omit<ClientFigure, 'limits95' | 'limits998' | 'verdict'>[] = [];
  for (const [at, client] of rows.client.levels.entries()) {
    const own = rows.atRisk[at]!;
    if (own.length === 0) continue;
    const coverage = own.length / total;
    const counts = countOf(rows.horse, rows.foot, own);
    const seen = own.reduce((sum, row) => sum + rows.end[row]!, 0);
    const isLeftOut = coverage >= LEFT_OUT_FROM;
    const fit = !isComparable(counts)
      ? null
      : isLeftOut
        ? factorRisk(without(patterns, rows, own), all)
        : all;
    const found = fit && !isUnavailable(fit) ? observedAndExpected(rows, patterns, own, fit) : null;
    // Limits are at the number expected, which is itself an estimate: the fewer its like elsewhere, the less sure.
    const wide = found?.expected ? dispersion * (1 + found.variance / found.expected) : dispersion;
    if (!found || found.expected / wide < LEAST_WORTH) {
      small.push({ client, counts, observed: seen, why: whySmall(counts, found?.expected ?? 0) });
      continue;
    }
    rough.push({
      client,
      counts,
      ...found,
      ratio: observedOverExpected(found.observed, found.expected, dispersion, dispersion * found.variance),
      coverage,
      isLeftOut,
      meanWeeks: own.reduce((sum, row) => sum + rows.days[row]!, 0) / own.length / 7,
      wide,
    });
  }
  const between = betweenUnits({
    observed: rough.map((c) => c.observed),
    expected: rough.map((c) => c.expected),
    dispersion: rough.map((c) => c.wide),
  });
  const clients = rough.map((figure): ClientFigure => {
    const limits95 = funnelLimits(figure.expected, 0.95, spread, figure.wide, between);
    const limits998 = funnelLimits(figure.expected, 0.998, spread, figure.wide, between);
    return { ...figure, limits95, limits998, verdict: verdictOf(figure.ratio.estimate, limits95, limits998) };
  });
  return { clients, small, dispersion, between };
}

function whySmall(counts: Counts, expected: number): string {
  if (!isComparable(counts)) return 'fewer than four horses';
  return expected === 0 ? 'no like among the other clients' : 'too few cases to be expected';
}

function verdictOf(
  ratio: number,
  inner: ClientFigure['limits95'],
  outer: ClientFigure['limits998'],
): Verdict {
  if (ratio > outer.high) return 'far more than expected';
  if (ratio > inner.high) return 'more than expected';
  if (ratio < outer.low) return 'far fewer than expected';
  return ratio < inner.low ? 'fewer than expected' : 'as expected';
}

/** Rows at risk that are alike in all that the risk may depend on. */
function patternsOf(rows: ClientRows, held: readonly Grouping[], withDays: boolean): Patterns {
  const coded = held.map((name) => rows.groups.get(name)!);
  const of = new Int32Array(rows.days.length).fill(-1);
  const numberOf = new Map<number, number>();
  const firsts: number[] = [];
  const trials: number[] = [];
  const events: number[] = [];
  for (const own of rows.atRisk) {
    for (const row of own) {
      let key = withDays ? rows.days[row]! : 0;
      for (const { levels, codes } of coded) key = key * levels.length + codes[row]!;
      let pattern = numberOf.get(key);
      if (pattern === undefined) {
        pattern = firsts.length;
        numberOf.set(key, pattern);
        firsts.push(row);
        trials.push(0);
        events.push(0);
      }
      of[row] = pattern;
      trials[pattern]! += 1;
      events[pattern]! += rows.end[row]!;
    }
  }
  return {
    of,
    factors: coded.map(({ levels, codes }) => ({
      codes: Int32Array.from(firsts, (row) => codes[row]!),
      levels: levels.length,
    })),
    covariates:
      withDays && variesIn(rows, firsts)
        ? [Float64Array.from(firsts, (row) => Math.log(rows.days[row]! / 42))]
        : [],
    trials: Float64Array.from(trials),
    events: Float64Array.from(events),
  };
}

const variesIn = (rows: ClientRows, firsts: readonly number[]): boolean =>
  firsts.some((row) => rows.days[row] !== rows.days[firsts[0]!]);

function without(patterns: Patterns, rows: ClientRows, own: readonly number[]): Patterns {
  const trials = patterns.trials.slice();
  const events = patterns.events.slice();
  for (const row of own) {
    trials[patterns.of[row]!]! -= 1;
    events[patterns.of[row]!]! -= rows.end[row]!;
  }
  return { ...patterns, trials, events };
}

function observedAndExpected(
  rows: ClientRows,
  patterns: Patterns,
  own: readonly number[],
  fit: FactorRisk,
): { observed: number; expected: number; variance: number; unmatched: number } {
  let observed = 0;
  let unmatched = 0;
  const among = new Float64Array(patterns.trials.length);
  for (const row of own) {
    const pattern = patterns.of[row]!;
    if (Number.isNaN(fit.risk[pattern]!)) {
      unmatched += 1;
      continue;
    }
    observed += rows.end[row]!;
    among[pattern]! += 1;
  }
  return { observed, unmatched, ...fit.expectedAmong(among) };
}

/** Over horses, of observed against expected cases of each: how alike the feet and cycles of one horse are. */
function horseDispersion(
  rows: ClientRows,
  patterns: Patterns,
  risk: Float64Array,
  parameters: number,
): number {
  const horses = rows.horse.reduce((most, horse) => Math.max(most, horse), -1) + 1;
  const observed = new Float64Array(horses);
  const expected = new Float64Array(horses);
  for (const own of rows.atRisk) {
    for (const row of own) {
      const p = risk[patterns.of[row]!]!;
      if (Number.isNaN(p)) continue;
      observed[rows.horse[row]!]! += rows.end[row]!;
      expected[rows.horse[row]!]! += p;
    }
  }
  const seen = Array.from(expected.keys()).filter((horse) => expected[horse]! > 0);
  return dispersionOf(
    seen.map((horse) => observed[horse]!),
    seen.map((horse) => expected[horse]!),
    parameters,
  );
}
