import { isUnavailable } from '../../core/outcome.ts';
import { makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { type ProblemKey, problemLabel } from '../../herd/problems.ts';
import type { ResultTable } from '../analysis.ts';
import { levelName } from '../groups.ts';
import { estimateColumns, shownShares } from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import { type GroupReturn, pairsTitle, type RecurrenceOptions, spellsTitle, steadyShare } from './answer.ts';
import { drawnDays } from './fits.ts';
import type { RatioRow } from './ratios.ts';

const levelOf = ({ level }: GroupReturn, { by }: RecurrenceOptions): string =>
  level === 'all' ? 'all' : levelName(by, level);

/** Share returned by each horizon, as seen at visits and with unseen returns counted; then the ratios of rates. */
export function recurrenceEstimates(
  groups: readonly GroupReturn[],
  ratios: readonly RatioRow[],
  options: RecurrenceOptions,
): ResultTable {
  const { problem, by } = options;
  const compared = ratios.map(
    (row): TidyRow => ({
      problem,
      term: `rate of return ratio${row.estimate === null ? ', one-sided limit' : ''}`,
      level: `${levelName(by, row.level)} against ${row.reference}`,
      estimate: row.estimate,
      stdError: null,
      low: row.low,
      high: row.high,
      unit: 'ratio',
      counts: row.counts,
      spells: row.counts.spells,
      behind: row.where,
      behindTitle: spellsTitle(problem, `${row.level} and ${row.reference}`),
    }),
  );
  const rows = [...seenRows(groups, options), ...steadyRows(groups, options), ...compared];
  return {
    ...tidyTable('recurrence', `Return of ${problemLabel(problem)}`, rows, 3),
    relation: 'spell',
  };
}

/** As seen at visits; the estimate is the middle of the bounds that the visits leave. */
function seenRows(groups: readonly GroupReturn[], options: RecurrenceOptions): TidyRow[] {
  const { problem, horizons } = options;
  return groups.flatMap((group): TidyRow[] => {
    const { bands } = group;
    if (isUnavailable(bands)) return [];
    const common = {
      problem,
      counts: { horses: group.nHorses, feet: group.nFeet, cycles: group.nLooks },
      behind: group.where,
      behindTitle: spellsTitle(problem, group.level),
      level: levelOf(group, options),
      stdError: null,
      spells: group.nSpells,
    };
    return horizons.flatMap((days) => {
      const point = bands.points.find((p) => p.at === days);
      if (!point) return [];
      const { low, high } = point.estimate;
      return [
        {
          ...common,
          term: `return seen by ${days} days`,
          estimate: (low + high) / 2,
          low: point.low,
          high: point.high,
          unit: 'share',
        },
      ];
    });
  });
}

/** With unseen returns counted: these rest on trim cycles. */
function steadyRows(groups: readonly GroupReturn[], options: RecurrenceOptions): TidyRow[] {
  const { problem, horizons } = options;
  return groups.flatMap((group): TidyRow[] => {
    const { steady } = group;
    if (!steady || isUnavailable(steady)) return [];
    return horizons.map((days) => ({
      ...steadyShare(steady, days),
      problem,
      term: `return by ${days} days, unseen returns counted (two-state model)`,
      level: levelOf(group, options),
      unit: 'share',
      counts: steady.counts,
      behind: steady.where,
      behindTitle: pairsTitle(problem, group.level),
      behindRelation: 'trim_cycle' as const,
    }));
  });
}

/** The curve of each group with its band: shares by day since the first clear visit. */
export function recurrenceCurve(groups: readonly GroupReturn[], problem: ProblemKey): ResultTable {
  const rows = groups.flatMap((group) =>
    isUnavailable(group.bands) ? [] : group.bands.points.map((point) => ({ group, point })),
  );
  const [seenAgain, ...limits] = shownShares('Share seen again');
  return {
    name: 'curve',
    title: `Share with ${problemLabel(problem)} seen again, by days since first clear`,
    relation: 'spell',
    columns: [
      { name: 'level', label: 'Group' },
      { name: 'days', label: 'Days since first clear', unit: 'd', digits: 0 },
      seenAgain!,
      { name: 'bound_low', label: 'Bound of the visits, from', digits: 3, share: true },
      { name: 'bound_high', label: 'to', digits: 3, share: true },
      ...limits,
      { name: 'n_horses', label: 'Horses', digits: 0 },
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_spells', label: 'Clear spells', digits: 0 },
    ],
    table: makeTable({
      level: textColumn(rows.map(({ group }) => group.level)),
      days: numberColumn(rows.map(({ point }) => point.at)),
      estimate: numberColumn(rows.map(({ point }) => (point.estimate.low + point.estimate.high) / 2)),
      bound_low: numberColumn(rows.map(({ point }) => point.estimate.low)),
      bound_high: numberColumn(rows.map(({ point }) => point.estimate.high)),
      conf_low: numberColumn(rows.map(({ point }) => point.low)),
      conf_high: numberColumn(rows.map(({ point }) => point.high)),
      n_horses: numberColumn(rows.map(({ group }) => group.nHorses)),
      n_feet: numberColumn(rows.map(({ group }) => group.nFeet)),
      n_spells: numberColumn(rows.map(({ group }) => group.nSpells)),
      behind: textColumn(rows.map(({ group }) => group.where)),
      behind_title: textColumn(rows.map(({ group }) => spellsTitle(problem, group.level))),
    }),
  };
}

const OURS = 'return placed between two visits';
const VISIT_DATE = 'visit date taken as the return';
const STEADY = 'two-state model, unseen returns counted';

interface Reading {
  readonly method: string;
  readonly days: number;
  readonly estimate: number;
  readonly low: number | null;
  readonly high: number | null;
}

/** Return between visits, the visit date taken as the date of return, and the two-state model's answer. */
export function recurrenceCompare(all: GroupReturn, problem: ProblemKey): ResultTable {
  const rows = [...placedBetween(all), ...atVisits(all), ...steadily(all)];
  const steady = all.steady && !isUnavailable(all.steady) ? all.steady : null;
  const isSteady = (row: Reading): boolean => row.method === STEADY;
  return {
    name: 'compare',
    title: 'The same records read three ways',
    relation: 'spell',
    columns: [
      { name: 'method', label: 'Reading' },
      { name: 'days', label: 'Days since first clear', unit: 'd', digits: 0 },
      ...shownShares('Share with it again'),
      { name: 'n_horses', label: 'Horses', digits: 0 },
      { name: 'n_feet', label: 'Feet', digits: 0 },
    ],
    table: makeTable({
      method: textColumn(rows.map((row) => row.method)),
      days: numberColumn(rows.map((row) => row.days)),
      ...estimateColumns(rows),
      n_horses: numberColumn(rows.map((row) => (isSteady(row) ? steady!.counts.horses : all.nHorses))),
      n_feet: numberColumn(rows.map((row) => (isSteady(row) ? steady!.counts.feet : all.nFeet))),
      behind: textColumn(rows.map((row) => (isSteady(row) ? steady!.where : all.where))),
      behind_title: textColumn(
        rows.map((row) => (isSteady(row) ? pairsTitle(problem, 'all') : spellsTitle(problem, 'all'))),
      ),
      behind_relation: textColumn(rows.map((row) => (isSteady(row) ? 'trim_cycle' : 'spell'))),
    }),
  };
}

function placedBetween({ bands }: GroupReturn): Reading[] {
  if (isUnavailable(bands)) return [];
  return bands.points.map(({ at, estimate, low, high }) => ({
    method: OURS,
    days: at,
    estimate: (estimate.low + estimate.high) / 2,
    low,
    high,
  }));
}

function atVisits({ bands, visitDate }: GroupReturn): Reading[] {
  if (isUnavailable(bands) || isUnavailable(visitDate)) return [];
  const last = bands.points.at(-1)?.at ?? 0;
  const steps = visitDate.steps
    .filter((step) => step.time <= last)
    .map((step) => ({
      method: VISIT_DATE,
      days: step.time,
      estimate: 1 - step.survival,
      low: step.high === null ? null : 1 - step.high,
      high: step.low === null ? null : 1 - step.low,
    }));
  return [{ method: VISIT_DATE, days: 0, estimate: 0, low: 0, high: 0 }, ...steps];
}

function steadily({ steady }: GroupReturn): Reading[] {
  if (!steady || isUnavailable(steady)) return [];
  return drawnDays(10).map((days) => ({ method: STEADY, days, ...steadyShare(steady, days) }));
}
