import { isUnavailable } from '../../core/outcome.ts';
import { makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { type ProblemKey, problemLabel } from '../../herd/problems.ts';
import type { ResultTable } from '../analysis.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import type { GroupReturn, RecurrenceOptions } from './answer.ts';

const title = (problem: ProblemKey, level: string): string =>
  `clear spells after ${problemLabel(problem)}, ${level}`;

/** Share returned by each horizon, a row a group; the estimate is the middle of the bounds that the visits leave. */
export function recurrenceEstimates(groups: readonly GroupReturn[], options: RecurrenceOptions): ResultTable {
  const { problem, by, horizons } = options;
  const rows = groups.flatMap((group): TidyRow[] => {
    const { bands } = group;
    if (isUnavailable(bands)) return [];
    const common = {
      problem,
      counts: { horses: group.nHorses, feet: group.nFeet, cycles: group.nLooks },
      behind: group.where,
      behindTitle: title(problem, group.level),
      level: group.level === 'all' ? 'all' : `${by}: ${group.level}`,
      stdError: null,
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
  return {
    ...tidyTable('recurrence', `Return of ${problemLabel(problem)} seen at visits`, rows),
    relation: 'spell',
  };
}

/** The curve of each group with its band: shares by day since the first clear visit. */
export function recurrenceCurve(groups: readonly GroupReturn[], problem: ProblemKey): ResultTable {
  const rows = groups.flatMap((group) =>
    isUnavailable(group.bands) ? [] : group.bands.points.map((point) => ({ group, point })),
  );
  return {
    name: 'curve',
    title: `Share with ${problemLabel(problem)} seen again, by days since first clear`,
    relation: 'spell',
    columns: [
      { name: 'level', label: 'Group' },
      { name: 'days', label: 'Days since first clear', unit: 'd', digits: 0 },
      { name: 'estimate', label: 'Share seen again', digits: 3 },
      { name: 'bound_low', label: 'Bound of the visits, from', digits: 3 },
      { name: 'bound_high', label: 'to', digits: 3 },
      { name: 'conf_low', label: '95 % from', digits: 3 },
      { name: 'conf_high', label: 'to', digits: 3 },
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
      behind_title: textColumn(rows.map(({ group }) => title(problem, group.level))),
    }),
  };
}

const OURS = 'return placed between two visits';
const VISIT_DATE = 'visit date taken as the return';

/** The same rows read two ways: return between visits, and the visit date taken as the date of return. */
export function recurrenceCompare(all: GroupReturn, problem: ProblemKey): ResultTable {
  const rows: { method: string; days: number; estimate: number; low: number | null; high: number | null }[] =
    [];
  if (!isUnavailable(all.bands)) {
    for (const { at, estimate, low, high } of all.bands.points) {
      rows.push({ method: OURS, days: at, estimate: (estimate.low + estimate.high) / 2, low, high });
    }
    if (!isUnavailable(all.visitDate)) {
      const last = all.bands.points.at(-1)?.at ?? 0;
      rows.push({ method: VISIT_DATE, days: 0, estimate: 0, low: 0, high: 0 });
      for (const step of all.visitDate.steps) {
        if (step.time > last) break;
        rows.push({
          method: VISIT_DATE,
          days: step.time,
          estimate: 1 - step.survival,
          low: step.high === null ? null : 1 - step.high,
          high: step.low === null ? null : 1 - step.low,
        });
      }
    }
  }
  return {
    name: 'compare',
    title: 'The same records read two ways',
    relation: 'spell',
    columns: [
      { name: 'method', label: 'Reading' },
      { name: 'days', label: 'Days since first clear', unit: 'd', digits: 0 },
      { name: 'estimate', label: 'Share seen again', digits: 3 },
      { name: 'conf_low', label: '95 % from', digits: 3 },
      { name: 'conf_high', label: 'to', digits: 3 },
      { name: 'n_horses', label: 'Horses', digits: 0 },
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_spells', label: 'Clear spells', digits: 0 },
    ],
    table: makeTable({
      method: textColumn(rows.map((row) => row.method)),
      days: numberColumn(rows.map((row) => row.days)),
      estimate: numberColumn(rows.map((row) => row.estimate)),
      conf_low: numberColumn(rows.map((row) => row.low)),
      conf_high: numberColumn(rows.map((row) => row.high)),
      n_horses: numberColumn(rows.map(() => all.nHorses)),
      n_feet: numberColumn(rows.map(() => all.nFeet)),
      n_spells: numberColumn(rows.map(() => all.nSpells)),
      behind: textColumn(rows.map(() => all.where)),
      behind_title: textColumn(rows.map(() => title(problem, 'all horses'))),
    }),
  };
}
