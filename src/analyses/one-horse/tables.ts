import type { Estimate } from '../../core/outcome.ts';
import { dayColumn, makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { Foot } from '../../herd/vocabularies.ts';
import type { ResultTable } from '../analysis.ts';
import { allOf, isLevel } from '../groups.ts';
import {
  behindColumns,
  countColumns,
  estimateColumns,
  SHOWN_COUNTS,
  shownEstimate,
} from '../result-parts.ts';
import { drawnRows, footTitle, type HorseRecord, numberAt } from './data.ts';
import { deeds } from './deeds.ts';
import type { HorseGrowth, Rate } from './growth.ts';
import { sawTooth } from './saw-tooth.ts';
import type { SideDifference } from './sides.ts';
import { spanOf, strips } from './strips.ts';

const FOOT = { name: 'foot', label: 'Foot' } as const;
const PANEL = { name: 'panel', label: 'Foot' } as const;
const DAY = { name: 'day', label: 'Visit' } as const;
export const RATE_UNIT = 'mm per 30 days';

/** The rows of one foot on one day. */
const visitOf = (footKey: string, day: number): string =>
  allOf(isLevel('foot_key', footKey), `visit_date = ${dateSql(day)}`);

const dateSql = (day: number): string => `DATE '1970-01-01' + ${Math.round(day)}`;

const named = ({ name, id }: HorseRecord): string => name ?? id;

export function toeTable(horse: HorseRecord): ResultTable {
  const points = sawTooth(drawnRows(horse));
  return {
    name: 'toe',
    title: `Toe length of ${named(horse)} as it grows and is cut`,
    relation: 'foot_visit',
    columns: [
      FOOT,
      PANEL,
      DAY,
      { name: 'side', label: 'When' },
      { name: 'length', label: 'Toe length', unit: 'mm', digits: 1 },
      { name: 'run', label: 'Unbroken line' },
    ],
    table: makeTable({
      foot: textColumn(points.map(({ foot }) => foot)),
      panel: textColumn(points.map(({ foot }) => footTitle(foot))),
      day: dayColumn(points.map(({ day }) => day)),
      side: textColumn(points.map(({ when }) => when)),
      length: numberColumn(points.map(({ mm }) => mm)),
      run: textColumn(points.map(({ run }) => run)),
      ...behindColumns(
        points.map(({ foot, footKey, day }) => ({
          where: visitOf(footKey, day),
          title: `${named(horse)} ${foot}, one visit`,
        })),
      ),
    }),
  };
}

const READINGS = {
  angles: {
    title: 'Toe angle',
    unit: '°',
    columns: [
      ['angle_before_deg', 'before the trim'],
      ['angle_after_deg', 'after the trim'],
      ['new_growth_angle_deg', 'of the new growth'],
    ],
  },
  heel_sole: {
    title: 'Heel and sole',
    unit: 'mm',
    columns: [
      ['heel_before_mm', 'heel before the trim'],
      ['heel_after_mm', 'heel after the trim'],
      ['sole_depth_mm', 'sole depth'],
    ],
  },
} as const;

/** Readings of one unit, one row each. */
export function readingsTable(horse: HorseRecord, name: keyof typeof READINGS): ResultTable {
  const { title, unit, columns } = READINGS[name];
  const found = columns.flatMap(([column, measure]) =>
    drawnRows(horse).flatMap((row) => {
      const value = numberAt(row, column);
      return value === null ? [] : [{ ...row, measure, value }];
    }),
  );
  return {
    name,
    title: `${title} of ${named(horse)}`,
    relation: 'foot_visit',
    columns: [
      FOOT,
      PANEL,
      { name: 'measure', label: 'Measure' },
      DAY,
      { name: 'reading', label: title, unit, digits: 1 },
    ],
    table: makeTable({
      foot: textColumn(found.map(({ foot }) => foot)),
      panel: textColumn(found.map(({ foot }) => footTitle(foot))),
      measure: textColumn(found.map(({ measure }) => measure)),
      day: dayColumn(found.map(({ day }) => day)),
      reading: numberColumn(found.map(({ value }) => value)),
      ...behindColumns(
        found.map(({ foot, footKey, day, measure }) => ({
          where: visitOf(footKey, day),
          title: `${named(horse)} ${foot}, ${title.toLowerCase()} ${measure}`,
        })),
      ),
    }),
  };
}

/** In the order of their grades; what was not looked at is no grade. */
const STATES = ['clear', 'slight', 'moderate', 'severe'] as const;
export const stateWords = (grade: number | null): string =>
  grade === null ? 'not looked at' : (STATES[grade] ?? String(grade));

/** Graded runs in `strips`, runs that were not looked at in `not_looked_at`. */
export function stripTables(horse: HorseRecord): ResultTable[] {
  const all = strips(drawnRows(horse));
  const table = (name: string, title: string, rows: typeof all, graded: boolean): ResultTable => ({
    name,
    title,
    relation: 'foot_visit',
    columns: [
      FOOT,
      PANEL,
      { name: 'problem', label: 'Problem' },
      { name: 'state', label: 'Seen as' },
      ...(graded
        ? [
            { name: 'grade', label: 'Grade', digits: 0 },
            { name: 'mark', label: 'Grade, written' },
          ]
        : []),
      { name: 'first_seen', label: 'From visit' },
      { name: 'last_seen', label: 'To visit' },
      { name: 'n_visits', label: 'Visits', digits: 0 },
      { name: 'from_day', label: 'Drawn from' },
      { name: 'to_day', label: 'Drawn to' },
    ],
    table: makeTable({
      foot: textColumn(rows.map(({ foot }) => foot)),
      panel: textColumn(rows.map(({ foot }) => footTitle(foot))),
      problem: textColumn(rows.map(({ problem }) => rowLabel(problemLabel(problem)))),
      state: textColumn(rows.map(({ grade }) => stateWords(grade))),
      ...(graded
        ? {
            grade: numberColumn(rows.map(({ grade }) => grade)),
            mark: textColumn(rows.map(({ grade }) => (grade ? String(grade) : ''))),
          }
        : {}),
      first_seen: dayColumn(rows.map(({ firstSeen }) => firstSeen)),
      last_seen: dayColumn(rows.map(({ lastSeen }) => lastSeen)),
      n_visits: numberColumn(rows.map(({ visits }) => visits)),
      from_day: dayColumn(rows.map(({ from }) => from)),
      to_day: dayColumn(rows.map(({ to }) => to)),
      ...behindColumns(
        rows.map(({ foot, footKey, problem, column, firstSeen, lastSeen, grade }) => ({
          where: allOf(
            isLevel('foot_key', footKey),
            `visit_date BETWEEN ${dateSql(firstSeen)} AND ${dateSql(lastSeen)}`,
            grade === null ? `${quoteName(column)} IS NULL` : `${quoteName(column)} = ${literal(grade)}`,
          ),
          title: `${named(horse)} ${foot}, ${problemLabel(problem)} ${stateWords(grade)}`,
        })),
      ),
    }),
  });
  return [
    table(
      'strips',
      `Problems of ${named(horse)}, visit by visit`,
      all.filter(({ grade }) => grade !== null),
      true,
    ),
    table(
      'not_looked_at',
      `Problems of ${named(horse)} that were not graded`,
      all.filter(({ grade }) => grade === null),
      false,
    ),
  ];
}

/** The two days between which all drawings lie, so that they share one axis of time. */
export function spanTable(horse: HorseRecord): ResultTable {
  const span = spanOf(drawnRows(horse)) ?? [];
  return {
    name: 'span',
    title: 'First and last day drawn',
    relation: 'foot_visit',
    columns: [DAY],
    table: makeTable({ day: dayColumn(span) }),
  };
}

const rowLabel = (words: string): string => words.replace(/^./, (letter) => letter.toUpperCase());

export function deedsTable(horse: HorseRecord): ResultTable {
  const done = deeds(drawnRows(horse));
  return {
    name: 'deeds',
    title: `What was done to the feet of ${named(horse)}`,
    relation: 'foot_visit',
    columns: [FOOT, PANEL, DAY, { name: 'kind', label: 'What' }, { name: 'deed', label: 'Done' }],
    table: makeTable({
      foot: textColumn(done.map(({ foot }) => foot)),
      panel: textColumn(done.map(({ foot }) => footTitle(foot))),
      day: dayColumn(done.map(({ day }) => day)),
      kind: textColumn(done.map(({ kind }) => kind)),
      deed: textColumn(done.map(({ deed }) => deed)),
      ...behindColumns(
        done.map(({ foot, footKey, day, deed }) => ({
          where: visitOf(footKey, day),
          title: `${named(horse)} ${foot}, ${deed}`,
        })),
      ),
    }),
  };
}

export const RATE_TIMES = { year: 'over the whole year', now: 'at this time of year' } as const;

/** A row a rate and time: over the year and, where a season could be fitted, as it is now. */
export function growthRows(growth: HorseGrowth | null): (Rate & { when: string; estimate: Estimate })[] {
  if (!growth) return [];
  const rates = [...growth.feet, ...(growth.horse ? [growth.horse] : []), growth.group];
  return rates.flatMap((rate) => [
    { ...rate, when: RATE_TIMES.year, estimate: rate.rate },
    ...(growth.hasSeason ? [{ ...rate, when: RATE_TIMES.now, estimate: rate.now }] : []),
  ]);
}

export const rateName = ({ of, footKey }: Rate): string => (footKey === null ? of : footTitle(of as Foot));

export const rateTitle = (horse: HorseRecord, growth: HorseGrowth, rate: Rate): string =>
  rate.where === growth.group.where
    ? `toe growth, ${rate.of}`
    : `toe growth, ${named(horse)}${rate.footKey ? ` ${rate.of}` : ''}`;

export function growthTable(horse: HorseRecord, growth: HorseGrowth | null): ResultTable {
  const rates = growthRows(growth);
  return {
    name: 'growth',
    title: `Net toe growth of ${named(horse)}`,
    relation: 'trim_cycle',
    columns: [
      { name: 'who', label: 'Foot' },
      { name: 'when', label: 'When' },
      ...shownEstimate('Growth', 2, RATE_UNIT),
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      who: textColumn(rates.map(rateName)),
      when: textColumn(rates.map(({ when }) => when)),
      ...estimateColumns(rates.map(({ estimate }) => estimate)),
      ...countColumns(rates.map(({ counts }) => counts)),
      ...behindColumns(rates.map((rate) => ({ where: rate.where, title: rateTitle(horse, growth!, rate) }))),
    }),
  };
}

export function asymmetryTable(horse: HorseRecord, sides: readonly SideDifference[]): ResultTable {
  return {
    name: 'asymmetry',
    title: `Left and right: toe growth of ${named(horse)}`,
    relation: 'trim_cycle',
    columns: [
      { name: 'pair', label: 'Pair' },
      { name: 'faster', label: 'Faster foot' },
      ...shownEstimate('Faster by', 2, RATE_UNIT),
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_cycles', label: 'Trim cycles', digits: 0 },
    ],
    table: makeTable({
      pair: textColumn(sides.map(({ pair }) => `${pair} feet`)),
      faster: textColumn(sides.map(({ faster }) => faster)),
      ...estimateColumns(sides.map(({ difference }) => difference)),
      n_feet: numberColumn(sides.map(({ counts }) => counts.feet)),
      n_cycles: numberColumn(sides.map(({ counts }) => counts.cycles)),
      ...behindColumns(sides),
    }),
  };
}
