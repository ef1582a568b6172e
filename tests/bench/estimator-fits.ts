import { isUnavailable, type Outcome } from '../../src/core/outcome.ts';
import { fitBinary } from '../../src/stats/cloglog.ts';
import { mantelHaenszel } from '../../src/stats/mantel-haenszel.ts';
import { jackknifeMantelHaenszel, strataOf } from '../../src/stats/mantel-haenszel-jackknife.ts';
import { fitNestedSlopes } from '../../src/stats/nested-slopes.ts';
import { fitOnsetSinceReset } from '../../src/stats/onset-since-reset.ts';
import { turnbull } from '../../src/stats/turnbull.ts';
import { fitTwoStateMarkov } from '../../src/stats/two-state-markov.ts';
import { weibullInterval } from '../../src/stats/weibull-interval.ts';
import { designOf, type Rows, type RowsName } from './estimator-rows.ts';

/** What a fit came to, in the order in which R gives the same. */
export interface Fitted {
  readonly of: string;
  readonly estimates: readonly number[];
  readonly criterion?: number;
  readonly loglik?: number;
}

interface Fit {
  readonly what: string;
  readonly rows: RowsName;
  /** What R does beside it; null where it has no twin. */
  readonly r: string | null;
  /** Lays the rows out, untimed, and gives the fit to be timed. */
  readonly prepare: (rows: Rows) => () => Fitted;
}

function known<T extends object>(outcome: Outcome<T>): T {
  if (isUnavailable(outcome)) throw new Error(`an estimator of the bench must answer: ${outcome.sentence}`);
  return outcome as T;
}

const integers = (column: Float64Array | undefined): Int32Array => Int32Array.from(column!);

/** Two-state pairs, all covariates on both rates; `unit` days in the unit of time. */
function pairs(rows: Rows, unit: number) {
  const x = designOf(rows);
  const { start, end, days, horse } = rows.columns;
  return {
    start: start!,
    end: end!,
    time: days!.map((d) => d / unit),
    onset: x,
    onsetTerms: rows.terms.map((term) => `onset ${term}`),
    clearing: x,
    clearingTerms: rows.terms.map((term) => `clearing ${term}`),
    cluster: integers(horse),
  };
}

export const FITS = {
  growth: {
    what: 'Growth by REML, horses and feet nested',
    rows: 'growth',
    r: 'lme4 lmer',
    prepare(rows) {
      const { days, y, horse, foot } = rows.columns;
      const data = { days: days!, y: y!, x: designOf(rows), cluster: integers(horse), unit: integers(foot) };
      return () => {
        const { beta, variances, criterion } = known(fitNestedSlopes(data, { names: rows.terms }));
        const { cluster, unit, residual } = variances;
        return { of: 'rates and variances', estimates: [...beta, cluster, unit, residual], criterion };
      };
    },
  },
  turnbull: {
    what: 'Return, nonparametric (Turnbull), by breed type, without bands; first 5,000 horses',
    rows: 'returns',
    r: 'survival survfit',
    prepare(rows) {
      const { left, right, level } = rows.columns;
      const levels = [...new Set(level)].sort((a, b) => a - b);
      const groups = levels.map((each) => ({
        left: left!.filter((_, row) => level![row] === each),
        right: right!.filter((_, row) => level![row] === each),
      }));
      return () => ({
        of: 'log-likelihoods',
        estimates: groups.map((group) => known(turnbull(group)).logLikelihood),
      });
    },
  },
  weibull: {
    what: 'Return, Weibull regression between visits, clustered errors',
    rows: 'spells',
    r: 'survival survreg, errors not clustered',
    prepare(rows) {
      const { left, right, horse } = rows.columns;
      const data = {
        left: left!,
        right: right!,
        x: designOf(rows),
        terms: rows.terms,
        cluster: integers(horse),
      };
      return () => {
        const { logTimeIntercept, terms, shape } = known(weibullInterval(data));
        const ratios = terms.map(({ logTimeRatio }) => logTimeRatio.estimate);
        return { of: 'coefficients', estimates: [logTimeIntercept.estimate, ...ratios, shape.estimate] };
      };
    },
  },
  markov: {
    what: 'Onset and clearing, two-state Markov with covariates, clustered errors',
    rows: 'cycles',
    r: 'msm, errors not clustered',
    prepare(rows) {
      const data = pairs(rows, 365.25);
      return () => {
        const { theta, logLikelihood } = known(fitTwoStateMarkov(data));
        return { of: 'coefficients', estimates: [...theta], loglik: logLikelihood };
      };
    },
  },
  cloglog: {
    what: 'Interval effect, complementary log-log with clustered errors',
    rows: 'risk',
    r: 'glm and sandwich vcovCL',
    prepare(rows) {
      const { event, horse } = rows.columns;
      const data = { event: event!, x: designOf(rows), terms: rows.terms, cluster: integers(horse) };
      return () => {
        const { theta, covariance } = known(fitBinary(data));
        const errors = Array.from(theta, (_, j) => Math.sqrt(covariance[j * theta.length + j]!));
        return { of: 'coefficients and clustered errors', estimates: [...theta, ...errors] };
      };
    },
  },
  exact: {
    what: 'Interval effect, exact two-state form with clustered errors',
    rows: 'cycles',
    r: null,
    prepare(rows) {
      const data = pairs(rows, 1);
      return () => ({ of: 'coefficients', estimates: [...known(fitOnsetSinceReset(data)).theta] });
    },
  },
  mantel: {
    what: 'Pooled over strata (Mantel–Haenszel)',
    rows: 'strata',
    r: 'mantelhaen.test with xtabs',
    prepare(rows) {
      const data = stratified(rows);
      return () => ({
        of: 'odds ratio',
        estimates: [known(mantelHaenszel(strataOf(data.rows, data.n))).oddsRatio!.estimate],
      });
    },
  },
  jackknife: {
    what: 'The same, each horse left out in turn',
    rows: 'strata',
    r: null,
    prepare(rows) {
      const data = stratified(rows);
      return () => ({
        of: 'odds ratio',
        estimates: [known(jackknifeMantelHaenszel(data.rows, data.n)).oddsRatio!.estimate],
      });
    },
  },
} as const satisfies Record<string, Fit>;

export type FitName = keyof typeof FITS;

function stratified({ columns }: Rows) {
  const stratum = integers(columns.stratum);
  return {
    n: stratum.reduce((most, each) => Math.max(most, each), -1) + 1,
    rows: {
      stratum,
      exposed: Uint8Array.from(columns.exposed!),
      event: Uint8Array.from(columns.event!),
      cluster: integers(columns.horse),
    },
  };
}
