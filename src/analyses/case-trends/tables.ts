import { isUnavailable } from '../../core/outcome.ts';
import { dayColumn, makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { ResultColumn, ResultTable } from '../analysis.ts';
import { groupingName, levelName } from '../groups.ts';
import { behindColumns, countColumns, estimateColumns, shownEstimate, shownShares } from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import type { TrendAnswer, Year } from './answer.ts';
import { looksWhere } from './data.ts';
import { type MonthSums, rateOf, type Standing } from './monthly.ts';
import { monthWords } from './months.ts';

const COUNTS: readonly ResultColumn[] = [
  { name: 'n_horses', label: 'Horses', digits: 0 },
  { name: 'n_feet', label: 'Feet', digits: 0 },
];

/** `problem`, grade 2 or more. */
export const caseWords = ({ options }: Pick<TrendAnswer, 'options'>): string =>
  `${problemLabel(options.problem)} of grade ${options.grade}${options.grade < 3 ? ' or more' : ''}`;

export function yearWords({ months }: TrendAnswer, { first, end }: Pick<Year, 'first' | 'end'>): string {
  return `${monthWords(months, first)} to ${monthWords(months, end - 1)}`;
}

const yearWhere = ({ options, months }: TrendAnswer, year: Year): string =>
  looksWhere(
    options,
    months.starts[year.first]!,
    months.starts[year.end]!,
    year.level === 'all' ? undefined : year.level,
  );

export function yearBehind(answer: TrendAnswer, year: Year) {
  return {
    where: yearWhere(answer, year),
    title: `${problemLabel(answer.options.problem)} graded, ${year.level === 'all' ? '' : `${year.level}, `}${yearWords(answer, year)}`,
  };
}

/** The last month whose end is known of some foot. */
export const lastStanding = ({ wholeStanding, partFrom }: TrendAnswer): Standing | undefined =>
  wholeStanding.filter(({ month, share }) => month < partFrom && share).at(-1) ??
  wholeStanding.filter(({ share }) => share).at(-1);

const finite = (months: number): number | null => (Number.isFinite(months) ? months : null);

export function trendEstimates(answer: TrendAnswer): ResultTable {
  const { options, years, dispersion, yearDispersion, yearsRatio: ratio, signals } = answer;
  const common = { problem: options.problem, behindRelation: 'foot_visit' as const };
  const rows: TidyRow[] = years.map((year) => {
    const { where, title } = yearBehind(answer, year);
    return {
      ...common,
      term: 'new cases per 100 clear feet a month',
      level: `${levelName(year.level === 'all' ? 'none' : options.by, year.level)}, ${yearWords(answer, year)}`,
      estimate: year.rate.estimate,
      stdError: null,
      low: year.rate.low,
      high: year.rate.high,
      unit: 'cases',
      counts: year.counts,
      behind: where,
      behindTitle: title,
    };
  });
  const whole = { ...common, level: 'all', counts: wholeCounts(answer), behind: null, behindTitle: null };
  const nothing = { stdError: null, low: null, high: null };
  if (ratio)
    rows.push({
      ...whole,
      term: 'rate of new cases, latest year over the one before',
      ...ratio,
      unit: 'ratio',
    });
  if (years.length > 0) {
    const varies = (level: string, estimate: number): TidyRow => ({
      ...whole,
      ...nothing,
      term: 'variance of counts against chance, horses alike',
      level,
      estimate,
      unit: 'times',
    });
    rows.push(varies('all', dispersion), varies('all, over a year', yearDispersion));
  }
  const last = lastStanding(answer);
  if (last?.share) {
    const next = answer.months.starts[last.month + 1]!;
    rows.push({
      ...common,
      term: 'share of feet with it at the end of the month',
      level: `all, ${monthWords(answer.months, last.month)}`,
      ...last.share,
      stdError: null,
      unit: 'share',
      counts: { horses: last.horses, feet: last.feet, cycles: last.feet },
      behind: looksWhere(options, next, next),
      behindTitle: `${problemLabel(options.problem)} graded again after ${monthWords(answer.months, last.month)}`,
    });
  }
  const { chart, scan } = signals;
  if (!isUnavailable(chart)) {
    rows.push(
      {
        ...whole,
        ...nothing,
        term: 'months between false alarms, one month',
        estimate: finite(chart.monthFalseAlarm),
        unit: 'months',
      },
      {
        ...whole,
        ...nothing,
        term: 'months between false alarms, running sum',
        estimate: finite(chart.sumFalseAlarm),
        unit: 'months',
      },
      {
        ...whole,
        ...nothing,
        term: 'chance of a false alarm in the months watched, running sum',
        estimate: chart.falseShare,
        unit: 'share',
      },
      { ...whole, ...nothing, term: 'limit of the running sum', estimate: chart.limit, unit: 'sum' },
    );
  }
  if (!isUnavailable(scan)) {
    const level = `from ${monthWords(answer.months, scan.month)} on`;
    rows.push(
      {
        ...whole,
        term: 'rate after the likeliest change over that before',
        level,
        ...scan.ratio,
        unit: 'ratio',
      },
      {
        ...whole,
        ...nothing,
        term: 'share of records without a change that show as much',
        level,
        estimate: scan.p,
        unit: 'share',
      },
    );
  }
  return tidyTable('case-trends', `Trend of ${problemLabel(options.problem)}`, rows, 3);
}

function wholeCounts({ looks }: TrendAnswer) {
  return { horses: looks.horses, feet: new Set(looks.foot).size, cycles: looks.from.length };
}

/** The latest year of all levels together, and the one before it. */
export function latestYears({ years }: TrendAnswer): [Year | undefined, Year | undefined] {
  const of = (which: Year['which']) => years.find((year) => year.level === 'all' && year.which === which);
  return [of('latest'), of('before')];
}

/** New cases by month: by the way of dating asked for, the other beside it. */
export function monthlyTable(answer: TrendAnswer): ResultTable {
  const { options, months, looks, sums, dispersion, partFrom } = answer;
  const cases = (of: MonthSums) => (options.dating === 'spread' ? of.spread : of.byVisit);
  const rows = looks.levels.flatMap((level, at) =>
    Array.from({ length: months.count }, (_, month) => ({
      level,
      month,
      at: at * months.count + month,
    })).flatMap((row) => {
      const rate = rateOf(cases(sums)[row.at]!, sums.clearDays[row.at]!, dispersion);
      return rate ? [{ ...row, rate }] : [];
    }),
  );
  const where = (month: number, level: string): string =>
    looksWhere(
      options,
      months.starts[month]!,
      months.starts[month + 1]!,
      level === 'all' ? undefined : level,
    );
  return {
    name: 'monthly',
    title: `New cases of ${problemLabel(options.problem)} by month`,
    relation: 'foot_visit',
    columns: [
      { name: 'month', label: 'Month' },
      ...(options.by === 'none' ? [] : [{ name: 'level', label: groupingName(options.by) }]),
      { name: 'cases', label: 'New cases', digits: 1 },
      { name: 'cases_low', label: '95 % from', digits: 1 },
      { name: 'cases_high', label: 'to', digits: 1 },
      ...shownEstimate('Per 100 clear feet a month', 2),
      { name: 'spread', label: 'New cases, spread over the days since the visit before', digits: 1 },
      { name: 'by_visit', label: 'New cases, by month of the visit', digits: 0 },
      { name: 'known', label: 'Known' },
      ...COUNTS,
      { name: 'n_visits', label: 'Foot visits', digits: 0 },
    ],
    table: makeTable({
      month: dayColumn(rows.map(({ month }) => months.starts[month])),
      month_text: textColumn(rows.map(({ month }) => monthWords(months, month))),
      level: textColumn(rows.map(({ level }) => level)),
      cases: numberColumn(rows.map(({ rate }) => rate.cases)),
      cases_low: numberColumn(rows.map(({ rate }) => rate.casesLow)),
      cases_high: numberColumn(rows.map(({ rate }) => rate.casesHigh)),
      ...estimateColumns(rows.map(({ rate }) => rate)),
      spread: numberColumn(rows.map(({ at }) => sums.spread[at])),
      by_visit: numberColumn(rows.map(({ at }) => sums.byVisit[at])),
      known: textColumn(rows.map(({ month }) => (month >= partFrom ? 'in part' : 'in full'))),
      n_horses: numberColumn(rows.map(({ at }) => sums.horses[at])),
      n_feet: numberColumn(rows.map(({ at }) => sums.feet[at])),
      n_visits: numberColumn(rows.map(({ at }) => sums.looks[at])),
      ...behindColumns(
        rows.map(({ month, level }) => ({
          where: where(month, level),
          title: `${problemLabel(options.problem)} graded, ${level === 'all' ? '' : `${level}, `}${monthWords(months, month)}`,
        })),
      ),
    }),
  };
}

/** Feet with it at the end of each month. */
export function standingTable({ options, months, looks, standing }: TrendAnswer): ResultTable {
  const rows = standing.flatMap((row) => (row.share ? [{ ...row, share: row.share }] : []));
  return {
    name: 'standing',
    title: `Feet with ${problemLabel(options.problem)} at the end of the month`,
    relation: 'foot_visit',
    columns: [
      { name: 'month', label: 'Month' },
      ...(options.by === 'none' ? [] : [{ name: 'level', label: groupingName(options.by) }]),
      ...shownShares('Share of feet'),
      { name: 'affected', label: 'Standing cases', digits: 0 },
      ...COUNTS,
    ],
    table: makeTable({
      month: dayColumn(rows.map(({ month }) => months.starts[month])),
      level: textColumn(rows.map(({ level }) => looks.levels[level])),
      ...estimateColumns(rows.map(({ share }) => share)),
      affected: numberColumn(rows.map(({ affected }) => affected)),
      n_horses: numberColumn(rows.map(({ horses }) => horses)),
      n_feet: numberColumn(rows.map(({ feet }) => feet)),
      n_visits: numberColumn(rows.map(({ feet }) => feet)),
      // The visits by which a foot was seen again after the month’s end.
      ...behindColumns(
        rows.map(({ month, level }) => {
          const next = months.starts[month + 1]!;
          const name = options.by === 'none' ? undefined : looks.levels[level];
          return {
            where: looksWhere(options, next, next, name),
            title: `${problemLabel(options.problem)} graded again after ${name === undefined ? '' : `${name}, `}${monthWords(months, month)}`,
          };
        }),
      ),
    }),
  };
}

/** The latest twelve months by level. */
export function levelsTable(answer: TrendAnswer): ResultTable {
  const { options, years } = answer;
  const rows = years.filter(
    ({ which, level }) => which === 'latest' && (options.by === 'none' || level !== 'all'),
  );
  return {
    name: 'levels',
    title: rows[0] ? `New cases from ${yearWords(answer, rows[0])}` : 'New cases of the latest months',
    relation: 'foot_visit',
    columns: [
      { name: 'level', label: options.by === 'none' ? 'Group' : groupingName(options.by) },
      { name: 'cases', label: 'New cases', digits: 1 },
      ...shownEstimate('Per 100 clear feet a month', 2),
      ...COUNTS,
    ],
    table: makeTable({
      level: textColumn(rows.map(({ level }) => level)),
      cases: numberColumn(rows.map(({ rate }) => rate.cases)),
      ...estimateColumns(rows.map(({ rate }) => rate)),
      ...countColumns(rows.map(({ counts }) => counts)),
      ...behindColumns(rows.map((year) => yearBehind(answer, year))),
    }),
  };
}
