import { civilDay, YEAR_DAYS } from '../../core/civil-day.ts';
import type { Estimate } from '../../core/outcome.ts';
import { dayColumn, makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { clusterRate, meanRate } from '../../stats/nested-predict.ts';
import type { ResultColumn, ResultTable } from '../analysis.ts';
import type { Counts } from '../format.ts';
import { allOf, countRows, isLevel } from '../groups.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import type { GrowthAnswer } from './answer.ts';
import { designPoint, herdPoint } from './design.ts';
import { MEASURES } from './options.ts';
import { seasonSummary } from './season.ts';

const RATE_COLUMNS: readonly ResultColumn[] = [
  { name: 'estimate', label: 'Growth', unit: 'mm per 30 days', digits: 2 },
  { name: 'conf_low', label: '95 % from', digits: 2 },
  { name: 'conf_high', label: 'to', digits: 2 },
];
const COUNT_COLUMNS: readonly ResultColumn[] = [
  { name: 'n_horses', label: 'Horses', digits: 0 },
  { name: 'n_feet', label: 'Feet', digits: 0 },
  { name: 'n_cycles', label: 'Trim cycles', digits: 0 },
];

/** A group compared, with its rate over the whole year. */
export interface LevelRate {
  readonly level: string;
  readonly rate: Estimate;
  readonly counts: Counts;
  readonly where: string;
}

export function levelRates({ options, rows, design, fit, where }: GrowthAnswer): LevelRate[] {
  return design.levels.map((level, k) => ({
    level,
    rate: meanRate(fit, designPoint(design, k)),
    counts: countRows(rows.horse, rows.foot, (row) => design.levelOf[row] === k),
    where: options.by === 'none' ? where : allOf(where, isLevel(options.by, level)),
  }));
}

export function herdRate({ design, fit }: GrowthAnswer): Estimate {
  return meanRate(fit, herdPoint(design));
}

/** Tidy estimates; with null, the empty table. */
export function growthEstimates(answer: GrowthAnswer | null): ResultTable {
  if (!answer) return tidyTable('growth', 'Growth', []);
  const { options, rows, fit, where } = answer;
  const { label, unit } = MEASURES[options.measure];
  const row = (
    term: string,
    level: string,
    e: Estimate,
    u: string,
    over: Partial<TidyRow> = {},
  ): TidyRow => ({
    problem: null,
    term,
    level,
    estimate: e.estimate,
    stdError: e.stdError,
    low: e.low,
    high: e.high,
    unit: u,
    counts: rows.counts,
    behind: where,
    behindTitle: `${label} growth, all horses`,
    ...over,
  });
  const tidy = [row(`${label} growth`, 'all', herdRate(answer), unit)];
  if (options.by !== 'none') {
    for (const { level, rate, counts, where: behind } of levelRates(answer)) {
      tidy.push(
        row(`${label} growth`, `${options.by}: ${level}`, rate, unit, {
          counts,
          behind,
          behindTitle: `${label} growth, ${level}`,
        }),
      );
    }
  }
  const season = seasonSummary(answer);
  if (season) {
    tidy.push(row('seasonal amplitude', 'all', season.amplitude, unit));
    if (season.peakDay) tidy.push(row('day of fastest growth', 'all', season.peakDay, 'day of the year'));
  }
  const spread = (variance: number): Estimate => ({
    estimate: Math.sqrt(variance),
    stdError: null,
    low: Number.NaN,
    high: Number.NaN,
  });
  if (fit.estimable.cluster)
    tidy.push(row('spread between horses (SD)', 'all', spread(fit.variances.cluster), unit));
  if (fit.estimable.unit)
    tidy.push(row('spread between feet of a horse (SD)', 'all', spread(fit.variances.unit), unit));
  tidy.push(row('spread of one regrowth around its rate (SD)', 'all', spread(fit.variances.residual), 'mm'));
  return tidyTable('growth', `Net ${label} growth`, tidy);
}

export function growthLevels(answer: GrowthAnswer): ResultTable {
  const levels = levelRates(answer);
  const { label } = MEASURES[answer.options.measure];
  return {
    name: 'levels',
    title: `Net ${label} growth by group`,
    relation: 'trim_cycle',
    columns: [{ name: 'level', label: 'Group' }, ...RATE_COLUMNS, ...COUNT_COLUMNS],
    table: makeTable({
      level: textColumn(levels.map((l) => l.level)),
      ...rateColumns(levels.map((l) => l.rate)),
      ...countColumns(levels.map((l) => l.counts)),
      behind: textColumn(levels.map((l) => l.where)),
      behind_title: textColumn(levels.map((l) => `${label} growth, ${l.level}`)),
    }),
  };
}

/** Each horse's own rate at its usual mix of groups over the whole year, drawn towards the herd; beside it the plain one. */
export function growthPerHorse({ options, rows, design, fit, where }: GrowthAnswer): ResultTable {
  const { label } = MEASURES[options.measure];
  const n = rows.days.length;
  const p = design.names.length;
  const horses = rows.horseIds.length;
  const mean = new Float64Array(horses * p);
  const weight = new Float64Array(horses);
  const grown = new Float64Array(horses);
  const square = new Float64Array(horses);
  const cycles = new Float64Array(horses);
  const feet = rows.horseIds.map(() => new Set<number>());
  const commonest = rows.horseIds.map(() => new Map<number, number>());
  for (let row = 0; row < n; row++) {
    const horse = rows.horse[row]!;
    const z = rows.days[row]! / 30;
    weight[horse]! += rows.days[row]!;
    for (let j = 0; j < p; j++) {
      if (j !== design.season?.cos && j !== design.season?.sin)
        mean[horse * p + j]! += design.x[row * p + j]! * rows.days[row]!;
    }
    grown[horse]! += z * rows.amount[row]!;
    square[horse]! += z * z;
    cycles[horse]! += 1;
    feet[horse]!.add(rows.foot[row]!);
    const level = design.levelOf[row]!;
    commonest[horse]!.set(level, (commonest[horse]!.get(level) ?? 0) + 1);
  }
  const rates = rows.horseIds.map((_, horse) => {
    const x = mean.slice(horse * p, horse * p + p).map((value) => value / weight[horse]!);
    const place = fit.clusterIds.indexOf(horse);
    return clusterRate(fit, place, x);
  });
  const groupOf = commonest.map(
    (seen) => design.levels[[...seen].sort((a, b) => b[1] - a[1])[0]?.[0] ?? 0] ?? null,
  );
  return {
    name: 'per_horse',
    title: `Net ${label} growth of each horse`,
    relation: 'trim_cycle',
    columns: [
      { name: 'horse_id', label: 'Horse' },
      { name: 'horse_name', label: 'Name' },
      ...(options.by === 'none' ? [] : [{ name: 'level', label: 'Group' }]),
      ...RATE_COLUMNS,
      { name: 'own_rate', label: 'Its own records alone', unit: 'mm per 30 days', digits: 2 },
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_cycles', label: 'Trim cycles', digits: 0 },
    ],
    table: makeTable({
      horse_id: textColumn(rows.horseIds),
      horse_name: textColumn(rows.horseNames),
      level: textColumn(groupOf),
      ...rateColumns(rates),
      own_rate: numberColumn(grown.map((value, horse) => value / square[horse]!)),
      n_feet: numberColumn(feet.map((set) => set.size)),
      n_cycles: numberColumn(cycles),
      behind: textColumn(rows.horseIds.map((id) => allOf(where, isLevel('horse_id', id)))),
      behind_title: textColumn(
        rows.horseIds.map((id, horse) => `${label} growth of ${rows.horseNames[horse] ?? id}`),
      ),
    }),
  };
}

/** The herd's mean rate through a year without a number: days of 2001, which no record is from. */
export function growthSeason(answer: GrowthAnswer): ResultTable {
  const { design, fit, options, rows, where } = answer;
  const { label } = MEASURES[options.measure];
  const first = civilDay(2001, 1, 1)!;
  const days = design.season ? Array.from({ length: 74 }, (_, i) => first + Math.min(i * 5, 364)) : [];
  const rates = days.map((day) => {
    const turn = (2 * Math.PI * day) / YEAR_DAYS;
    return meanRate(fit, herdPoint(design, Math.cos(turn), Math.sin(turn)));
  });
  return {
    name: 'season',
    title: `Net ${label} growth through the year`,
    relation: 'trim_cycle',
    columns: [{ name: 'day', label: 'Day of the year' }, ...RATE_COLUMNS, ...COUNT_COLUMNS],
    table: makeTable({
      day: dayColumn(days),
      ...rateColumns(rates),
      ...countColumns(days.map(() => rows.counts)),
      behind: textColumn(days.map(() => where)),
      behind_title: textColumn(days.map(() => `${label} growth, all horses`)),
    }),
  };
}

function rateColumns(rates: readonly Estimate[]) {
  return {
    estimate: numberColumn(rates.map((r) => r.estimate)),
    std_error: numberColumn(rates.map((r) => r.stdError)),
    conf_low: numberColumn(rates.map((r) => r.low)),
    conf_high: numberColumn(rates.map((r) => r.high)),
  };
}

function countColumns(counts: readonly Counts[]) {
  return {
    n_horses: numberColumn(counts.map((c) => c.horses)),
    n_feet: numberColumn(counts.map((c) => c.feet)),
    n_cycles: numberColumn(counts.map((c) => c.cycles)),
  };
}
