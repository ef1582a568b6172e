/**
 * The shipped analyses on the demo herd against R: scripts, rows and results in tests/reference/demo/, made by
 * `npm run reference`. Tolerance: 1e-5 relative on estimates and standard errors, where both sides run to an optimum.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { made } from '../../src/analyses/apart.ts';
import { gatherGrowth } from '../../src/analyses/growth/data.ts';
import { growthDesign } from '../../src/analyses/growth/design.ts';
import { fitBest } from '../../src/analyses/growth/fit.ts';
import { analysisNamed } from '../../src/analyses/index.ts';
import { alikeCycles, COMPARISONS } from '../../src/analyses/interval-effect/alike.ts';
import { gatherIntervals } from '../../src/analyses/interval-effect/data.ts';
import { fitComparisons } from '../../src/analyses/interval-effect/fits.ts';
import { numbers, type Table, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { mantelHaenszel } from '../../src/stats/mantel-haenszel.ts';
import { jackknifeMantelHaenszel } from '../../src/stats/mantel-haenszel-jackknife.ts';
import { fitNestedSlopes } from '../../src/stats/nested-slopes.ts';
import { seasonalWave } from '../../src/stats/seasonal.ts';
import { turnbull } from '../../src/stats/turnbull.ts';
import { fitTwoStateMarkov } from '../../src/stats/two-state-markov.ts';
import { weibullInterval } from '../../src/stats/weibull-interval.ts';
import { errorsOf, expectAll, value } from '../stats/expect-close.ts';
import {
  DEMO_ROWS,
  GROWTH_OPTIONS,
  HERD_OPTIONS,
  INTERVAL_OPTIONS,
  openDemo,
  referenceOf,
  rowsText,
  sha256,
  storedRows,
  TODAY,
} from './demo-rows.ts';

const CLOSE = 1e-5;
let engine: Engine;
const rows: Record<string, Table> = {};
beforeAll(async () => {
  engine = await openDemo();
  for (const [name, gather] of Object.entries(DEMO_ROWS)) rows[name] = await gather(engine);
});
afterAll(() => engine.close());

/** The `estimates` table of a shipped analysis as `term, level` → the row; the level without its grouping's name. */
async function estimates(name: string, options: object) {
  const analysis = analysisNamed(name);
  const context = {
    engine,
    today: TODAY,
    lengths: 'mm' as const,
    signal: new AbortController().signal,
    progress: () => undefined,
  };
  const { tables } = await analysis.run(analysis.options.parse(options), context);
  const { table } = tables[0]!;
  const at = (column: string, i: number) => numbers(table, column)[i]!;
  return new Map(
    texts(table, 'term').map((term, i) => [
      `${term}, ${texts(table, 'level')[i]!.split(': ').at(-1)}`,
      {
        estimate: at('estimate', i),
        stdError: at('std_error', i),
        low: at('conf_low', i),
        high: at('conf_high', i),
      },
    ]),
  );
}

/** Codes of text values, and each value against the commonest as R's contrasts_of does it. */
function indicators(values: readonly (string | null)[]) {
  const levels = [...new Set(values)].filter((v): v is string => v !== null).sort();
  const count = levels.map((level) => values.filter((v) => v === level).length);
  const others = levels.filter((_, k) => k !== count.indexOf(Math.max(...count)));
  return { others, row: (i: number) => others.map((level) => (values[i] === level ? 1 : 0)) };
}

function codes(values: readonly (string | null)[]): Int32Array {
  const ids = [...new Set(values)];
  return Int32Array.from(values, (v) => ids.indexOf(v));
}

describe('the rows that R saw are the rows that the analyses gather', () => {
  it.each(Object.keys(DEMO_ROWS))('%s', (name) => {
    const hash = sha256(rowsText(rows[name]!));
    const advice = `the demo herd or the SQL that gathers ${name} has changed since: npm run reference`;
    expect(sha256(storedRows(name)), advice).toBe(hash);
    expect(referenceOf(name).rowsSha256, advice).toBe(hash);
  });
});

describe('growth: R lme4', () => {
  const reference = referenceOf('growth');

  it('gathers what R gathers from the CSV by itself: every cycle, its season included', () => {
    expect(reference.afresh.rows).toBe(rows.growth!.rowCount);
    expect(reference.afresh.alike).toBe(true);
    expect(reference.afresh.apart).toBeLessThan(1e-12);
  });

  it('rates by breed type with ground held, season, variances, each horse', () => {
    const data = gatherGrowth(rows.growth!);
    const design = growthDesign(data, GROWTH_OPTIONS, true);
    const fit = value(
      fitNestedSlopes({ days: data.days, y: data.amount, x: design.x, cluster: data.horse, unit: data.foot }),
    );
    expect(design.names.map((name) => name.replace(/^ground |season \(|\)$/g, ''))).toEqual(reference.terms);
    expectAll(fit.beta, reference.beta, CLOSE);
    expectAll(fit.stdErrors, reference.se, CLOSE);
    const { cluster, unit, residual } = fit.variances;
    const { horse, foot, residual: error } = reference.variances;
    expectAll([cluster, unit, residual], [horse, foot, error], CLOSE);
    expect(fit.criterion).toBeCloseTo(reference.criterion, 5);
    const effect = new Map(reference.horses.map((id: string, i: number) => [id, reference.horseEffects[i]]));
    expectAll(
      Array.from(fit.clusterIds, (_, g) => fit.clusterEffects[g]!),
      Array.from(fit.clusterIds, (id) => effect.get(data.horseIds[id]!) as number),
      1e-4,
    );
  });

  it('reaches the table of results in full', async () => {
    const table = await estimates('growth', GROWTH_OPTIONS);
    reference.terms.slice(0, 5).forEach((level: string, k: number) => {
      const { estimate, stdError } = table.get(`toe growth, ${level}`)!;
      expectAll([estimate, stdError], [reference.beta[k], reference.se[k]], CLOSE);
    });
  });

  it('all horses together, ground held: rate and season as the table has them', async () => {
    const { beta, se, amplitude, amplitudeSe, peakRadians } = referenceOf('growth-herd');
    const table = await estimates('growth', HERD_OPTIONS);
    const whole = table.get('toe growth, all')!;
    expectAll([whole.estimate, whole.stdError], [beta[0], se[0]], CLOSE);
    const season = table.get('seasonal amplitude, all')!;
    expectAll([season.estimate, season.stdError], [amplitude, amplitudeSe], CLOSE);
    // Day 1 is 1 January 2001, which is day 11,323 since 1970-01-01.
    const peak = table.get('day of fastest growth, all')!.estimate;
    const phase = (peakRadians / (2 * Math.PI)) * 365.25 - (11_323 - 1);
    expect(Math.abs(((((peak - phase) % 365.25) + 365.25 + 100) % 365.25) - 100)).toBeLessThan(1e-3);
  });

  it('with ground held: size of the season and its error', () => {
    const { design, fit } = fitBest(gatherGrowth(rows.growth!), GROWTH_OPTIONS);
    const { beta, covariance } = value(fit);
    const { cos, sin } = design.season!;
    const p = beta.length;
    const of = (i: number, j: number) => covariance[i * p + j]!;
    const { amplitude } = seasonalWave(
      beta[cos]!,
      beta[sin]!,
      Float64Array.of(of(cos, cos), of(cos, sin), of(sin, cos), of(sin, sin)),
    );
    const [c, s] = reference.beta.slice(8);
    const size = Math.hypot(c, s);
    const v = (i: number, j: number): number => reference.covariance[8 + i][8 + j];
    const error = Math.sqrt(c * c * v(0, 0) + 2 * c * s * v(0, 1) + s * s * v(1, 1)) / size;
    expectAll([amplitude.estimate, amplitude.stdError!], [size, error], CLOSE);
  });
});

describe('return of separation: an EM of its own in R, and survival', () => {
  const reference = referenceOf('spells');
  const spells = () => {
    const right = numbers(rows.spells!, 'right_days').map((d) =>
      Number.isNaN(d) ? Number.POSITIVE_INFINITY : d,
    );
    return { left: numbers(rows.spells!, 'left_days'), right, level: texts(rows.spells!, 'level') };
  };

  it.each(Object.keys(reference.curves))(
    'Turnbull, %s: mass and likelihood; survfit stops short of them',
    (name) => {
      const { left, right, level } = spells();
      const keep = Array.from(left.keys()).filter((i) => name === 'all' || level[i] === name);
      const fit = value(
        turnbull({
          left: Float64Array.from(keep, (i) => left[i]!),
          right: Float64Array.from(keep, (i) => right[i]!),
        }),
      );
      const known = reference.curves[name];
      expect(fit.logLikelihood).toBeCloseTo(known.loglik, 6);
      expect(known.gap).toBeLessThan(1e-9);
      // A mass of 1e-6 or so may be 0 at one optimum and not at another within the stop's tolerance.
      const mass = (of: { low: ArrayLike<number>; mass: ArrayLike<number> }) =>
        new Map(Array.from(of.low, (low, j) => [low, of.mass[j]!]));
      const [ours, theirs] = [mass(fit), mass(known)];
      for (const low of new Set([...ours.keys(), ...theirs.keys()])) {
        expect(Math.abs((ours.get(low) ?? 0) - (theirs.get(low) ?? 0)), `mass after day ${low}`).toBeLessThan(
          1e-5,
        );
      }
      // Why survfit is not the reference: it stops at a lower likelihood of the same rows.
      expect(known.survfitLoglik).toBeLessThan(known.loglik - 1e-5);
    },
  );

  it('reaches the table of results: shares by 90, 180 and 365 days lie at the middle of R’s bounds', async () => {
    const table = await estimates('recurrence', { problem: 'separation', by: 'none', replicates: 50 });
    const { low, high, mass } = reference.curves.all as Record<'low' | 'high' | 'mass', number[]>;
    for (const days of [90, 180, 365]) {
      const before = mass.reduce((sum, m, j) => sum + (high[j]! <= days ? m : 0), 0);
      const started = mass.reduce((sum, m, j) => sum + (low[j]! < days ? m : 0), 0);
      expectAll([table.get(`return seen by ${days} days, all`)!.estimate], [(before + started) / 2], CLOSE);
    }
  });

  it('Weibull regression: survreg, with scores clustered by horse', () => {
    const { left, right, level } = spells();
    const { others, row } = indicators(level);
    expect(others).toEqual(reference.weibull.terms);
    const data = {
      left,
      right,
      x: Float64Array.from(Array.from(left.keys()).flatMap(row)),
      terms: others,
      cluster: codes(texts(rows.spells!, 'horse_id')),
    };
    const { coef, se, clustered, loglik } = reference.weibull;
    const { cluster: _, ...alone } = data;
    const plain = value(weibullInterval(alone));
    const robust = value(weibullInterval(data, { smallSample: 'clusters' }));
    expect(plain.logLikelihood).toBeCloseTo(loglik, 6);
    const ratios = (fit: typeof plain) => fit.terms.map((t) => t.logTimeRatio);
    expectAll(
      ratios(plain).map((t) => t.estimate),
      coef.slice(1, -1),
      CLOSE,
    );
    expectAll(
      ratios(plain).map((t) => t.stdError!),
      se.slice(1, -1),
      CLOSE,
    );
    expectAll(
      ratios(robust).map((t) => t.stdError!),
      clustered.slice(1, -1),
      CLOSE,
    );
    expectAll([plain.shape.estimate], [Math.exp(-coef.at(-1))], CLOSE);
  });
});

describe('interval effect: the exact likelihood written out in R; glm and sandwich', () => {
  const reference = referenceOf('interval');
  const key = (comparison: string) => comparison.replace('-horse', '');

  it.each(COMPARISONS)('%s: parameters and errors clustered by horse', async (comparison) => {
    const data = gatherIntervals(rows.interval!);
    const here = made(async () => undefined);
    const all = await fitComparisons(alikeCycles(data), [28, 56], here, false);
    const { fit, check } = all.find((each) => each.comparison === comparison)!;
    const exact = value(fit);
    const known = reference.exact[key(comparison)];
    expectAll(exact.theta, known.theta, CLOSE);
    expectAll(errorsOf(exact), known.robustSe, CLOSE);
    expect(exact.logLikelihood).toBeCloseTo(known.loglik, 6);
    const seen = value(check);
    expectAll(seen.theta, reference.cloglog[key(comparison)].coef, CLOSE);
    expectAll(errorsOf(seen), reference.cloglog[key(comparison)].robustSe, CLOSE);
  });

  it('reaches the table of results: the exponent is exp of R’s, its error by the delta method', async () => {
    const table = await estimates('interval-effect', INTERVAL_OPTIONS);
    for (const comparison of COMPARISONS) {
      const { theta, robustSe } = reference.exact[key(comparison)];
      const { estimate, stdError } = table.get(`exponent of the interval, ${comparison}`)!;
      const exponent = Math.exp(theta.at(-1));
      expectAll([estimate, stdError], [exponent, exponent * robustSe.at(-1)], CLOSE);
      const check = table.get(`exponent, regression on log days, ${comparison}`)!;
      const { coef, robustSe: errors } = reference.cloglog[key(comparison)];
      expectAll([check.estimate, check.stdError], [coef.at(-1), errors.at(-1)], CLOSE);
    }
  });
});

describe('onset and clearing of frog infection: R msm, and its likelihood written out again', () => {
  it('by moisture, both rates', () => {
    const reference = referenceOf('frog');
    const data = gatherIntervals(rows.frog!);
    const moisture = texts(rows.frog!, 'by moisture');
    const { others, row } = indicators(moisture);
    expect(others).toEqual(reference.terms);
    const x = Float64Array.from(moisture.flatMap((_, i) => [1, ...row(i)]));
    const terms = ['level', ...others];
    const pairs = {
      start: data.start,
      end: data.end,
      time: data.days.map((d) => d / 365.25),
      onset: x,
      onsetTerms: terms,
      clearing: x,
      clearingTerms: terms,
      cluster: data.horse,
    };
    const model = value(fitTwoStateMarkov(pairs, { covariance: 'model' }));
    const { msm, direct } = reference;
    expectAll(model.theta, msm.theta, CLOSE);
    expectAll(errorsOf(model), msm.se, CLOSE);
    expect(-2 * model.logLikelihood).toBeCloseTo(msm.minus2loglik, 6);
    const robust = value(fitTwoStateMarkov(pairs));
    expectAll(robust.theta, direct.theta, CLOSE);
    expectAll(errorsOf(robust), direct.robustSe, CLOSE);
  });
});

describe('protected feet against bare ones: R mantelhaen.test and metafor', () => {
  it('pooled over breed type and ground, as rows and by leaving out one horse at a time', () => {
    const reference = referenceOf('protection');
    const table = rows.protection!;
    const strata = [...new Set(texts(table, 'stratum'))].sort();
    expect(strata).toEqual(reference.strata);
    const data = {
      stratum: Int32Array.from(texts(table, 'stratum'), (s) => strata.indexOf(s)),
      exposed: Uint8Array.from(numbers(table, 'exposed')),
      event: Uint8Array.from(numbers(table, 'event')),
      cluster: codes(texts(table, 'horse_id')),
    };
    const counted = strata.map((_, k) => {
      const count = (exposed: number, event: number | null) =>
        data.stratum.reduce(
          (sum, s, i) =>
            sum +
            Number(s === k && data.exposed[i] === exposed && (event === null || data.event[i] === event)),
          0,
        );
      return {
        exposedEvents: count(1, 1),
        exposedRows: count(1, null),
        unexposedEvents: count(0, 1),
        unexposedRows: count(0, null),
      };
    });
    const pooled = value(mantelHaenszel(counted));
    const { mantelhaen, metafor, leaveOneHorseOut } = reference;
    const { riskDifference, riskRatio, oddsRatio } = pooled;
    expectAll(
      [oddsRatio!.estimate, oddsRatio!.low, oddsRatio!.high],
      [mantelhaen.oddsRatio, ...mantelhaen.interval],
      CLOSE,
    );
    expectAll([riskDifference.estimate, riskDifference.stdError!], metafor.RD, CLOSE);
    expectAll([Math.log(riskRatio!.estimate), riskRatio!.stdError! / riskRatio!.estimate], metafor.RR, CLOSE);
    expectAll([Math.log(oddsRatio!.estimate), oddsRatio!.stdError! / oddsRatio!.estimate], metafor.OR, CLOSE);
    const clustered = value(jackknifeMantelHaenszel(data, strata.length));
    expectAll(
      [
        clustered.riskDifference.stdError!,
        clustered.riskRatio!.stdError! / clustered.riskRatio!.estimate,
        clustered.oddsRatio!.stdError! / clustered.oddsRatio!.estimate,
      ],
      leaveOneHorseOut.se,
      CLOSE,
    );
  });
});
