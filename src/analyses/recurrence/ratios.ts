import { isUnavailable, type Outcome, type Unavailable, unavailable } from '../../core/outcome.ts';
import { makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { Finding, ResultTable } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { type Counts, figure, horsesText, interval95 } from '../format.ts';
import { allOf, groupingName, isOneOf } from '../groups.ts';
import { behindColumns, countColumns, estimateColumns, shownEstimate } from '../result-parts.ts';
import { type RecurrenceOptions, type ReturnRatios, spellsTitle } from './answer.ts';
import { spellWhere } from './data.ts';

/** One level's rate of return over that of the commonest; a null estimate goes with a one-sided limit. */
export interface RatioRow {
  readonly level: string;
  readonly reference: string;
  readonly estimate: number | null;
  readonly low: number | null;
  readonly high: number | null;
  /** Clear spells of both levels, `cycles` the looks taken at them. */
  readonly counts: Counts & { readonly spells: number };
  readonly where: string;
}

export function ratioRows(ratios: ReturnRatios, { problem, by }: RecurrenceOptions): RatioRow[] {
  if (by === 'none') return [];
  const { fit, reference, levels, countsOf } = ratios;
  const name = (level: string): string => `${groupingName(by)} ${level}`;
  return levels.flatMap((level): RatioRow[] => {
    const common = {
      level,
      reference,
      counts: countsOf.get(level)!,
      where: allOf(spellWhere(problem), isOneOf(by, [level, reference])),
    };
    const term = fit.terms.find((each) => each.term === name(level));
    if (term) {
      const { estimate, low, high } = term.logHazardRatio;
      return [{ ...common, estimate: Math.exp(estimate), low: Math.exp(low), high: Math.exp(high) }];
    }
    const silent = fit.silent.find((each) => each.term === name(level));
    if (!silent || silent.limit === null) return [];
    const limit = Math.exp(silent.limit);
    const below = silent.direction === 'below';
    return [{ ...common, estimate: null, low: below ? null : limit, high: below ? limit : null }];
  });
}

export function ratiosTable(rows: readonly RatioRow[], { problem, by }: RecurrenceOptions): ResultTable {
  return {
    name: 'ratios',
    title: `Rate of return of ${problemLabel(problem)}${by === 'none' ? '' : ` by ${groupingName(by)}`}, over that of the commonest level`,
    relation: 'spell',
    columns: [
      { name: 'level', label: 'Group' },
      { name: 'reference', label: 'Compared with' },
      ...shownEstimate('Ratio', 2),
      { name: 'limit', label: 'Kind' },
      { name: 'n_horses', label: 'Horses', digits: 0 },
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_spells', label: 'Clear spells', digits: 0 },
    ],
    table: makeTable({
      level: textColumn(rows.map((row) => row.level)),
      reference: textColumn(rows.map((row) => row.reference)),
      ...estimateColumns(rows),
      limit: textColumn(rows.map((row) => (row.estimate === null ? 'one-sided limit' : 'estimate'))),
      ...countColumns(rows.map((row) => row.counts)),
      n_spells: numberColumn(rows.map((row) => row.counts.spells)),
      ...behindColumns(
        rows.map((row) => ({
          where: row.where,
          title: spellsTitle(problem, `${row.level} and ${row.reference}`),
        })),
      ),
    }),
  };
}

/** The ratio furthest from 1, then the levels without a return; `enough` tells which levels may be compared. */
export function ratioFinding(
  all: readonly RatioRow[],
  { problem, by }: RecurrenceOptions,
  enough: (level: string) => boolean,
): Finding[] {
  if (by === 'none') return [];
  const label = problemLabel(problem);
  const rows = all.filter((row) => enough(row.level) && enough(row.reference));
  const told = rows.filter((row) => row.estimate !== null);
  const behind = (row: RatioRow) => ({
    relation: 'spell' as const,
    where: row.where,
    title: spellsTitle(problem, `${row.level} and ${row.reference}`),
  });
  const size = (row: RatioRow): number => Math.abs(Math.log(row.estimate!));
  const most = told.length === 0 ? null : told.reduce((a, b) => (size(b) > size(a) ? b : a));
  const silent = rows.filter((row) => row.estimate === null && row.high !== null);
  return [
    ...(most
      ? [
          {
            sentence: `Where ${groupingName(by)} is ${most.level}, ${label} came back at an estimated ${figure(most.estimate!, 2)} times the rate where it is ${most.reference} (${interval95(most.low!, most.high!, 2)}, ${horsesText(most.counts.horses)} in the two together); ${most.low! > 1 || most.high! < 1 ? 'the interval leaves out 1' : 'the interval holds 1, so it may be no different'}. Of the levels this is the one furthest from ${most.reference}.`,
            caution: CAUTIONS.record,
            behind: behind(most),
          },
        ]
      : []),
    ...silent.map((row) => ({
      sentence: `No return of ${label} was seen where ${groupingName(by)} is ${row.level}: the records leave room for up to ${figure(row.high!, 2)} times the rate where it is ${row.reference} (one-sided 95 % limit).`,
      caution: CAUTIONS.small_numbers,
      behind: behind(row),
    })),
  ];
}

export function ratioRefusals(
  ratios: Outcome<ReturnRatios>,
  { problem, by }: RecurrenceOptions,
): Unavailable[] {
  if (by === 'none') return [];
  const label = problemLabel(problem);
  if (isUnavailable(ratios)) {
    return [
      unavailable(
        ratios.unavailable,
        `rates of return of ${label} by ${groupingName(by)} cannot be compared: ${ratios.sentence.charAt(0).toLowerCase()}${ratios.sentence.slice(1)}`,
      ),
    ];
  }
  return ratios.fit.lone.map((term) =>
    unavailable(
      'one-cluster',
      `${label}, ${term}: one side of the comparison is a single horse, so it is left out of the ratios.`,
    ),
  );
}
