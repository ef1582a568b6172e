import { isUnavailable } from '../../core/outcome.ts';
import { makeTable, numberColumn, textColumn } from '../../core/table.ts';
import type { ResultTable } from '../analysis.ts';
import {
  behindColumns,
  countColumns,
  estimateColumns,
  SHOWN_COUNTS,
  shownEstimate,
  shownShares,
} from '../result-parts.ts';
import { toldRatio } from '../shown-ratio.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import { type EntryAnswer, type EntryFit, risksOf, riskTitle, withWords } from './answer.ts';

const ORDER_WORDS = { forward: 'way in first', reverse: 'infection first, as a check' } as const;
const COMPARISON_WORDS = { crude: 'as recorded', adjusted: 'other things held alike' } as const;

export { COMPARISON_WORDS };

/** Tidy: hazard ratios, then risks with and without. */
export function entryEstimates({ fits, options }: EntryAnswer): ResultTable {
  const rows = fits.flatMap((fit): TidyRow[] => {
    const { question, comparison, all, where } = fit;
    const common = {
      problem: question.outcome,
      counts: all,
      behind: where,
      behindTitle: riskTitle(question, ''),
    };
    const ratio = toldRatio(fit.ratio);
    const risks = risksOf(fit);
    const limit = ratio && ratio.estimate === null ? ', one-sided limit' : '';
    return [
      ...(ratio
        ? [
            {
              ...common,
              ...ratio,
              term: `onset ratio, ${comparison}${limit}`,
              level: question.label,
              unit: 'ratio',
            },
          ]
        : []),
      ...(risks
        ? ([true, false] as const).map((exposed) => {
            const { estimate, stdError, low, high } = exposed ? risks.with : risks.without;
            return {
              ...common,
              term: `risk at ${options.weeks} weeks, ${comparison}`,
              level: `${question.label}: ${withWords(question, exposed)}`,
              ...{ estimate, stdError, low, high },
              unit: 'share',
            };
          })
        : []),
    ];
  });
  return tidyTable('entry-points', 'Entry points', rows, 3);
}

/** Onset with the exposure over onset without: one row a question and comparison. */
export function ratiosTable({ fits }: EntryAnswer): ResultTable {
  const rows = fits.flatMap((fit) => {
    const ratio = toldRatio(fit.ratio);
    return ratio ? [{ fit, ratio }] : [];
  });
  return {
    name: 'ratios',
    title: 'Onset with, over onset without',
    relation: 'trim_cycle',
    columns: [
      { name: 'label', label: 'What came first' },
      { name: 'order_of_time', label: 'Order of time' },
      { name: 'comparison', label: 'Comparison' },
      ...shownEstimate('Ratio', 2),
      { name: 'limit', label: 'Kind' },
      { name: 'n_exposed', label: 'Cycles with', digits: 0 },
      { name: 'exposed_onsets', label: 'of these, onsets', digits: 0 },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      label: textColumn(rows.map(({ fit }) => fit.question.label)),
      order_of_time: textColumn(rows.map(({ fit }) => ORDER_WORDS[fit.question.order])),
      comparison: textColumn(rows.map(({ fit }) => COMPARISON_WORDS[fit.comparison])),
      ...estimateColumns(rows.map(({ ratio }) => ratio)),
      limit: textColumn(rows.map(({ ratio }) => (ratio.estimate === null ? 'one-sided limit' : 'estimate'))),
      n_exposed: numberColumn(rows.map(({ fit }) => fit.exposed.cycles)),
      exposed_onsets: numberColumn(rows.map(({ fit }) => fit.exposed.onsets)),
      ...countColumns(rows.map(({ fit }) => fit.all)),
      ...behindColumns(rows.map(({ fit }) => ({ where: fit.where, title: riskTitle(fit.question, '') }))),
    }),
  };
}

/** Of the readings of one question the last whose risks could be told. */
function fullest(fits: readonly EntryFit[], { question }: EntryFit): EntryFit | undefined {
  return fits.filter((fit) => fit.question === question && risksOf(fit)).at(-1);
}

/** Risk at the weeks asked for, with and without, at the herd's own mix. */
export function risksTable({ fits, options }: EntryAnswer): ResultTable {
  const rows = fits.flatMap((fit) => {
    const risks = risksOf(fit);
    return risks
      ? ([true, false] as const).map((exposed) => ({
          fit,
          exposed,
          risk: exposed ? risks.with : risks.without,
          // The adjusted one where there is one: what a chart shows.
          reading: fit === fullest(fits, fit) ? 'first' : 'beside',
        }))
      : [];
  });
  return {
    name: 'risks',
    title: `Risk at the next visit, ${options.weeks} weeks after the trim`,
    relation: 'trim_cycle',
    columns: [
      { name: 'label', label: 'What came first' },
      { name: 'order_of_time', label: 'Order of time' },
      { name: 'comparison', label: 'Comparison' },
      { name: 'state', label: 'At the trim' },
      { name: 'weeks', label: 'Weeks', digits: 0 },
      ...shownShares('Risk'),
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      label: textColumn(rows.map(({ fit }) => fit.question.label)),
      order_of_time: textColumn(rows.map(({ fit }) => ORDER_WORDS[fit.question.order])),
      comparison: textColumn(rows.map(({ fit }) => COMPARISON_WORDS[fit.comparison])),
      reading: textColumn(rows.map(({ reading }) => reading)),
      state: textColumn(rows.map(({ exposed }) => (exposed ? 'with' : 'without'))),
      weeks: numberColumn(rows.map(() => options.weeks)),
      ...estimateColumns(rows.map(({ risk }) => risk)),
      ...countColumns(rows.map(({ fit }) => fit.all)),
      ...behindColumns(rows.map(({ fit }) => ({ where: fit.where, title: riskTitle(fit.question, '') }))),
    }),
  };
}

/** What was seen at the next visit, as counted, whatever the length of the cycle. */
export function countedTable({ counted }: EntryAnswer): ResultTable {
  const rows = counted.flatMap((row) => (isUnavailable(row.share) ? [] : [{ ...row, share: row.share }]));
  return {
    name: 'counted',
    title: 'At the next visit, as counted',
    relation: 'trim_cycle',
    columns: [
      { name: 'label', label: 'What came first' },
      { name: 'order_of_time', label: 'Order of time' },
      { name: 'state', label: 'At the trim' },
      { name: 'onsets', label: 'Onsets', digits: 0 },
      ...shownShares('Share'),
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      label: textColumn(rows.map(({ question }) => question.label)),
      order_of_time: textColumn(rows.map(({ question }) => ORDER_WORDS[question.order])),
      state: textColumn(rows.map(({ exposed }) => (exposed ? 'with' : 'without'))),
      onsets: numberColumn(rows.map(({ seen }) => seen.onsets)),
      ...estimateColumns(rows.map(({ share }) => share)),
      ...countColumns(rows.map(({ seen }) => seen)),
      ...behindColumns(
        rows.map(({ where, question, exposed }) => ({
          where,
          title: riskTitle(question, withWords(question, exposed)),
        })),
      ),
    }),
  };
}
