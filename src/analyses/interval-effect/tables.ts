import { isUnavailable } from '../../core/outcome.ts';
import { makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { problemLabel } from '../../herd/problems.ts';
import { coefficient } from '../../stats/predictor-fit.ts';
import { riskContrast } from '../../stats/standardise.ts';
import type { ResultColumn, ResultTable } from '../analysis.ts';
import { percent } from '../format.ts';
import { shownShares } from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import type { Comparison } from './alike.ts';
import type { IntervalAnswer } from './answer.ts';

const COUNTS: readonly ResultColumn[] = [
  { name: 'n_horses', label: 'Horses', digits: 0 },
  { name: 'n_feet', label: 'Feet', digits: 0 },
  { name: 'n_cycles', label: 'Trim cycles', digits: 0 },
];

const title = ({ options }: IntervalAnswer): string =>
  `trim cycles that began clear of ${problemLabel(options.problem)}`;

/** Tidy estimates: the exponent three ways and by the check beside it, the risk at the weeks asked for, and the ratio of the last to the first. */
export function intervalEstimates(answer: IntervalAnswer): ResultTable {
  const { options, rows, fits, where } = answer;
  const common = {
    problem: options.problem,
    counts: rows.atRisk,
    behind: where,
    behindTitle: title(answer),
  };
  const tidy: TidyRow[] = [];
  for (const { comparison, fit, risk, check } of fits) {
    if (!isUnavailable(fit) && !isUnavailable(fit.exponent)) {
      const { estimate, stdError, low, high } = fit.exponent;
      tidy.push({
        ...common,
        term: 'exponent of the interval',
        level: comparison,
        estimate,
        stdError,
        low,
        high,
        unit: 'exponent',
      });
    }
    if (!isUnavailable(check)) {
      const slope = coefficient(check, check.terms.length - 1);
      if (slope.kind === 'estimated') {
        const { estimate, stdError, low, high } = slope;
        tidy.push({
          ...common,
          term: 'exponent, regression on log days',
          level: comparison,
          estimate,
          stdError,
          low,
          high,
          unit: 'exponent',
        });
      }
    }
    if (!isUnavailable(risk)) {
      for (const weeks of options.weeks) {
        const at = risk.risk[risk.times.indexOf(weeks * 7)];
        if (!at) continue;
        const { estimate, stdError, low, high } = at;
        tidy.push({
          ...common,
          term: `risk at the next visit, ${weeks} weeks`,
          level: comparison,
          estimate,
          stdError,
          low,
          high,
          unit: 'share',
        });
      }
      const [first, last] = [options.weeks[0]!, options.weeks.at(-1)!];
      if (first !== last) {
        const at = (weeks: number): number => risk.times.indexOf(weeks * 7);
        const { estimate, stdError, low, high } = riskContrast(risk, at(last), at(first)).ratio;
        tidy.push({
          ...common,
          term: `times the risk, ${last} against ${first} weeks`,
          level: comparison,
          estimate,
          stdError,
          low,
          high,
          unit: 'ratio',
        });
      }
    }
  }
  return tidyTable('interval-effect', `Trim interval and ${problemLabel(options.problem)}`, tidy, 3);
}

const COMPARISON_WORDS: Record<Comparison, string> = {
  crude: 'crude',
  adjusted: 'adjusted for ground, season and the like',
  'within-horse': 'each horse against its own usual interval',
};

/** The exponent of each comparison, for the plot that sets them side by side. */
export function intervalExponents(answer: IntervalAnswer): ResultTable {
  const { fits, rows, where } = answer;
  const told = fits.flatMap(({ comparison, fit }) =>
    isUnavailable(fit) || isUnavailable(fit.exponent) ? [] : [{ comparison, exponent: fit.exponent }],
  );
  return {
    name: 'exponents',
    title: 'How steeply the risk climbs with the interval',
    relation: 'trim_cycle',
    columns: [
      { name: 'comparison', label: 'Comparison' },
      { name: 'estimate', label: 'Exponent', digits: 2 },
      { name: 'conf_low', label: `${percent(0.95)} from`, digits: 2 },
      { name: 'conf_high', label: 'to', digits: 2 },
      ...COUNTS,
    ],
    table: makeTable({
      comparison: textColumn(told.map(({ comparison }) => COMPARISON_WORDS[comparison])),
      estimate: numberColumn(told.map(({ exponent }) => exponent.estimate)),
      conf_low: numberColumn(told.map(({ exponent }) => exponent.low)),
      conf_high: numberColumn(told.map(({ exponent }) => exponent.high)),
      n_horses: numberColumn(told.map(() => rows.atRisk.horses)),
      n_feet: numberColumn(told.map(() => rows.atRisk.feet)),
      n_cycles: numberColumn(told.map(() => rows.atRisk.cycles)),
      behind: textColumn(told.map(() => where)),
      behind_title: textColumn(told.map(() => title(answer))),
    }),
  };
}

/** Risk by weeks since the trim, one curve a comparison. */
export function intervalRisk(answer: IntervalAnswer): ResultTable {
  const { fits, rows, options, where } = answer;
  const points = fits.flatMap(({ comparison, risk }) =>
    isUnavailable(risk) ? [] : risk.times.map((days, i) => ({ comparison, days, at: risk.risk[i]! })),
  );
  return {
    name: 'risk_curve',
    title: `Risk of ${problemLabel(options.problem)} at the next visit`,
    relation: 'trim_cycle',
    columns: [
      { name: 'comparison', label: 'Comparison' },
      { name: 'weeks', label: 'Weeks since the trim', digits: 1 },
      ...shownShares('Risk'),
      ...COUNTS,
    ],
    table: makeTable({
      comparison: textColumn(points.map((p) => p.comparison)),
      weeks: numberColumn(points.map((p) => p.days / 7)),
      estimate: numberColumn(points.map((p) => p.at.estimate)),
      conf_low: numberColumn(points.map((p) => p.at.low)),
      conf_high: numberColumn(points.map((p) => p.at.high)),
      n_horses: numberColumn(points.map(() => rows.atRisk.horses)),
      n_feet: numberColumn(points.map(() => rows.atRisk.feet)),
      n_cycles: numberColumn(points.map(() => rows.atRisk.cycles)),
      behind: textColumn(points.map(() => where)),
      behind_title: textColumn(points.map(() => title(answer))),
    }),
  };
}

/** Raw shares by length of interval, on the effective sample size. */
export function intervalBands(answer: IntervalAnswer): ResultTable {
  const { bands } = answer;
  return {
    name: 'bands',
    title: `Share with ${problemLabel(answer.options.problem)} at the next visit, as counted`,
    relation: 'trim_cycle',
    columns: [
      { name: 'band', label: 'Interval' },
      { name: 'weeks', label: 'Mean weeks', digits: 1 },
      ...shownShares('Share'),
      ...COUNTS,
    ],
    table: makeTable({
      band: textColumn(bands.map((b) => b.band)),
      weeks: numberColumn(bands.map((b) => b.weeks)),
      estimate: numberColumn(bands.map((b) => b.share.estimate)),
      conf_low: numberColumn(bands.map((b) => b.share.low)),
      conf_high: numberColumn(bands.map((b) => b.share.high)),
      n_horses: numberColumn(bands.map((b) => b.counts.horses)),
      n_feet: numberColumn(bands.map((b) => b.counts.feet)),
      n_cycles: numberColumn(bands.map((b) => b.counts.cycles)),
      behind: textColumn(bands.map((b) => b.where)),
      behind_title: textColumn(bands.map((b) => `${title(answer)}, ${b.band}`)),
    }),
  };
}
