import { isUnavailable } from '../../core/outcome.ts';
import { makeTable, numberColumn, textColumn } from '../../core/table.ts';
import type { ResultColumn, ResultTable } from '../analysis.ts';
import { percent } from '../format.ts';
import {
  behindColumns,
  countColumns,
  errorColumn,
  estimateColumns,
  SHOWN_COUNTS,
  shownEstimate,
  shownShares,
} from '../result-parts.ts';
import { BOTH, cyclesTitle, type ReliefAnswer } from './answer.ts';
import { doneWhere, type HeightChange, type Per } from './height.ts';
import { CHOICES, DONE } from './options.ts';
import { RETURN_DAYS } from './returns.ts';
import { ENDINGS, scopeWords } from './shares.ts';

const COUNTING = { height: 'cleared as 0', still: 'still there' } as const;
export const HEIGHT_UNITS: Readonly<Record<Per, string>> = { '30 days': 'mm per 30 days', cycle: 'mm' };

const GROUP_COUNTS: readonly ResultColumn[] = [
  { name: 'n_relieved', label: 'Cycles relieved', digits: 0 },
  { name: 'n_bevelled', label: 'Cycles only bevelled', digits: 0 },
];

/** How often each distance was relieved: what was done, as recorded. */
export function doneTable({ done, options }: ReliefAnswer): ResultTable {
  return {
    name: 'done',
    title: 'What was done, by distance from the white line',
    relation: 'trim_cycle',
    columns: [
      { name: 'place', label: 'Where' },
      { name: 'limit_mm', label: 'Near is under', unit: 'mm', digits: 1 },
      ...shownShares('Share relieved'),
      { name: 'n_relieved', label: 'Cycles relieved', digits: 0 },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      place: textColumn(done.map(({ place }) => place)),
      limit_mm: numberColumn(done.map(() => options.near_mm)),
      ...estimateColumns(done.map(({ share }) => share)),
      n_relieved: numberColumn(done.map(({ relieved }) => relieved)),
      ...countColumns(done.map(({ counts }) => counts)),
      ...behindColumns(done.map(({ where, place }) => ({ where, title: cyclesTitle(options, null, place) }))),
    }),
  };
}

/** Mean change of each choice, a row a choice. */
export function heightTable(answer: ReliefAnswer, per: Per): ResultTable {
  const rows = answer.heights
    .filter((height) => height.per === per)
    .flatMap((height) => CHOICES.map((done) => ({ height, done })));
  const unit = HEIGHT_UNITS[per];
  return {
    name: per === 'cycle' ? 'height_cycle' : 'height',
    title: `Change of separation height ${per === 'cycle' ? 'over a trim cycle' : 'per 30 days'}`,
    relation: 'trim_cycle',
    columns: [
      { name: 'scope', label: 'Compared' },
      { name: 'counting', label: 'Counting' },
      { name: 'done', label: 'Handling' },
      ...shownEstimate('Change', 1, unit),
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      scope: textColumn(rows.map(({ height }) => scopeWords(height.scope))),
      counting: textColumn(rows.map(({ height }) => COUNTING[height.counting])),
      done: textColumn(rows.map(({ done }) => DONE[done])),
      ...estimateColumns(rows.map(({ height, done }) => height.of[done])),
      ...errorColumn(rows.map(({ height, done }) => height.of[done])),
      ...countColumns(rows.map(({ height, done }) => height.countsOf[done])),
      ...behindColumns(
        rows.map(({ height, done }) => ({
          where: doneWhere(height.where, done),
          title: cyclesTitle(answer.options, done, scopeWords(height.scope)),
        })),
      ),
    }),
  };
}

/** Relieved less only bevelled, mm per 30 days. */
export function heightDifferences(answer: ReliefAnswer): ResultTable {
  const rows = answer.heights.filter(({ per }) => per === '30 days');
  return {
    name: 'height_difference',
    title: `Change of separation height, ${BOTH}`,
    relation: 'trim_cycle',
    columns: [
      { name: 'scope', label: 'Compared' },
      { name: 'counting', label: 'Counting' },
      ...shownEstimate('Difference', 1, HEIGHT_UNITS['30 days']),
      ...GROUP_COUNTS,
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      scope: textColumn(rows.map(({ scope }) => scopeWords(scope))),
      counting: textColumn(rows.map(({ counting }) => COUNTING[counting])),
      ...estimateColumns(rows.map(({ difference }) => difference)),
      ...errorColumn(rows.map(({ difference }) => difference)),
      ...groupCounts(rows),
      ...countColumns(rows.map(({ counts }) => counts)),
      ...behindColumns(
        rows.map(({ where, scope }) => ({
          where,
          title: cyclesTitle(answer.options, null, scopeWords(scope)),
        })),
      ),
    }),
  };
}

const groupCounts = (rows: readonly Pick<HeightChange, 'countsOf'>[]) => ({
  n_relieved: numberColumn(rows.map(({ countsOf }) => countsOf.relieved.cycles)),
  n_bevelled: numberColumn(rows.map(({ countsOf }) => countsOf.bevel_only.cycles)),
});

/** Share with each ending, by place and choice, as recorded. */
export function sharesTable({ broken, cleared, options }: ReliefAnswer): ResultTable {
  const rows = [...broken.shares, ...cleared.shares];
  return {
    name: 'shares',
    title: 'By the next visit, as recorded',
    relation: 'trim_cycle',
    columns: [
      { name: 'ending', label: 'By the next visit' },
      { name: 'scope', label: 'Where' },
      { name: 'done', label: 'Handling' },
      ...shownShares('Share'),
      { name: 'events', label: 'So many', digits: 0 },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      ending: textColumn(rows.map(({ ending }) => ENDINGS[ending])),
      scope: textColumn(rows.map(({ scope }) => (scope === 'crude' ? 'all' : scope))),
      done: textColumn(rows.map(({ done }) => DONE[done])),
      ...estimateColumns(rows.map(({ share }) => share)),
      events: numberColumn(rows.map(({ events }) => events)),
      ...countColumns(rows.map(({ counts }) => counts)),
      ...behindColumns(
        rows.map(({ where, done, scope }) => ({
          where,
          title: cyclesTitle(options, done, scopeWords(scope)),
        })),
      ),
    }),
  };
}

/** Relieved less only bevelled, as shares of cycles. */
export function differencesTable({ broken, cleared, options }: ReliefAnswer): ResultTable {
  const rows = [...broken.differences, ...cleared.differences];
  return {
    name: 'differences',
    title: `By the next visit, ${BOTH}`,
    relation: 'trim_cycle',
    columns: [
      { name: 'ending', label: 'By the next visit' },
      { name: 'scope', label: 'Compared' },
      ...shownShares('Difference of shares'),
      { name: 'ratio', label: 'Ratio', digits: 2 },
      { name: 'ratio_low', label: `${percent(0.95)} from`, digits: 2 },
      { name: 'ratio_high', label: 'to', digits: 2 },
      ...GROUP_COUNTS,
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      ending: textColumn(rows.map(({ ending }) => ENDINGS[ending])),
      scope: textColumn(rows.map(({ scope }) => scopeWords(scope))),
      ...estimateColumns(rows.map(({ difference }) => difference)),
      ratio: numberColumn(rows.map(({ ratio }) => ratio?.estimate)),
      ratio_low: numberColumn(rows.map(({ ratio }) => ratio?.low)),
      ratio_high: numberColumn(rows.map(({ ratio }) => ratio?.high)),
      ...groupCounts(rows),
      ...countColumns(rows.map(({ counts }) => counts)),
      ...behindColumns(
        rows.map(({ where, scope }) => ({ where, title: cyclesTitle(options, null, scopeWords(scope)) })),
      ),
    }),
  };
}

/** Groups of like feet, and whether both choices are in them. */
export function strataTable({ broken, cleared, options }: ReliefAnswer): ResultTable {
  const rows = [...broken.strata, ...cleared.strata];
  return {
    name: 'strata',
    title: 'Groups of like feet',
    relation: 'trim_cycle',
    columns: [
      { name: 'ending', label: 'By the next visit' },
      { name: 'stratum', label: 'Feet alike in' },
      { name: 'relieved_events', label: 'Relieved, so many', digits: 0 },
      { name: 'n_relieved', label: 'of', digits: 0 },
      { name: 'bevelled_events', label: 'Only bevelled, so many', digits: 0 },
      { name: 'n_bevelled', label: 'of', digits: 0 },
      { name: 'verdict', label: 'Evidence' },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      ending: textColumn(rows.map(({ ending }) => ENDINGS[ending])),
      stratum: textColumn(rows.map(({ stratum }) => stratum)),
      relieved_events: numberColumn(rows.map(({ events }) => events.relieved)),
      n_relieved: numberColumn(rows.map((row) => row.rows.relieved)),
      bevelled_events: numberColumn(rows.map(({ events }) => events.bevel_only)),
      n_bevelled: numberColumn(rows.map((row) => row.rows.bevel_only)),
      verdict: textColumn(rows.map(({ compared }) => (compared ? 'compared' : 'no evidence here'))),
      ...countColumns(rows.map(({ counts }) => counts)),
      ...behindColumns(
        rows.map(({ where, stratum }) => ({ where, title: cyclesTitle(options, null, stratum) })),
      ),
    }),
  };
}

/** Share with separation seen again, by days since first seen clear. */
export function returnsTable({ curves, options }: ReliefAnswer): ResultTable {
  const rows = curves.flatMap(({ done, bands, counts, where }) =>
    isUnavailable(bands) ? [] : bands.points.map((point) => ({ done, point, counts, where })),
  );
  const drawn = rows.filter(
    ({ point }) => RETURN_DAYS.includes(point.at) || options.horizons.includes(point.at),
  );
  return {
    name: 'returns',
    title: 'Separation seen again',
    relation: 'spell',
    columns: [
      { name: 'done', label: 'Handling' },
      { name: 'days', label: 'Days since first clear', digits: 0 },
      ...shownShares('Share seen again'),
      { name: 'n_horses', label: 'Horses', digits: 0 },
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_spells', label: 'Clear spells', digits: 0 },
    ],
    table: makeTable({
      done: textColumn(drawn.map(({ done }) => DONE[done])),
      days: numberColumn(drawn.map(({ point }) => point.at)),
      ...estimateColumns(
        drawn.map(({ point }) => ({ estimate: middle(point.estimate), low: point.low, high: point.high })),
      ),
      ...countColumns(drawn.map(({ counts }) => counts)),
      n_spells: numberColumn(drawn.map(({ counts }) => counts.spells)),
      ...behindColumns(
        drawn.map(({ where, done }) => ({ where, title: `clear spells after separation, ${DONE[done]}` })),
      ),
    }),
  };
}

/** Of the bounds between which the share is not identified. */
export const middle = ({ low, high }: { readonly low: number; readonly high: number }): number =>
  (low + high) / 2;
