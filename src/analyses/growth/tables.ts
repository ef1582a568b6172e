import { civilDay, YEAR_DAYS } from '../../core/civil-day.ts';
import { type Estimate, isUnavailable } from '../../core/outcome.ts';
import { dayColumn, makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { clusterRate, meanRate } from '../../stats/nested-predict.ts';
import type { ResultColumn, ResultTable } from '../analysis.ts';
import type { Counts } from '../format.ts';
import { allOf, countByLevel, isLevel, levelName } from '../groups.ts';
import {
  type Bounded,
  behindColumns,
  countColumns,
  errorColumn,
  estimateColumns,
  SHOWN_COUNTS,
  shownEstimate,
} from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import type { GrowthAnswer, HerdFigures } from './answer.ts';
import { calledNames } from './called.ts';
import { designPoint, herdPoint } from './design.ts';
import { MEASURES } from './options.ts';
import { seasonSummary } from './season.ts';

const shownRate = ({ options }: HerdFigures): ResultColumn[] => {
  const { shown, unit } = MEASURES[options.measure];
  return shownEstimate(shown, 2, unit);
};

/** A group compared, with its rate over the whole year. */
interface LevelRate {
  readonly level: string;
  readonly rate: Estimate;
  readonly counts: Counts;
  readonly where: string;
}

export function levelRates({ options, rows, design, fit, where }: GrowthAnswer): LevelRate[] {
  const counts = countByLevel({ levels: design.levels, codes: design.levelOf }, rows.horse, rows.foot);
  return design.levels.map((level, k) => ({
    level,
    rate: meanRate(fit, designPoint(design, k)),
    counts: counts[k]!,
    where: options.by === 'none' ? where : allOf(where, isLevel(options.by, level)),
  }));
}

export function herdRate({ design, fit }: HerdFigures): Estimate {
  return meanRate(fit, herdPoint(design));
}

/** What each spread is of, and whether in the unit of rates. */
const SPREADS = {
  cluster: { term: 'spread between horses (SD)', isRate: true },
  unit: { term: 'spread between feet of a horse (SD)', isRate: true },
  residual: { term: 'spread of one change around its rate (SD)', isRate: false },
} as const;

/** `whole` is the same question asked of all horses together: what stands under `all`. */
export function growthEstimates(answer: GrowthAnswer, whole: HerdFigures): ResultTable {
  const { analysis, options, fit, spreads } = answer;
  const { rows, lag, where } = whole;
  const { title, term, unit, amountUnit } = MEASURES[options.measure];
  const row = (name: string, level: string, e: Bounded, u: string, over: Partial<TidyRow> = {}): TidyRow => ({
    problem: null,
    term: name,
    level,
    estimate: e.estimate,
    stdError: null,
    low: e.low,
    high: e.high,
    unit: u,
    counts: rows.counts,
    behind: where,
    behindTitle: `${term}, all horses`,
    ...over,
  });
  const herd = herdRate(whole);
  const tidy = [row(term, 'all', herd, unit, { stdError: herd.stdError })];
  if (options.by !== 'none') {
    for (const { level, rate, counts, where: behind } of levelRates(answer)) {
      const over = { stdError: rate.stdError, counts, behind, behindTitle: `${term}, ${level}` };
      tidy.push(row(term, levelName(options.by, level), rate, unit, over));
    }
  }
  const season = seasonSummary(whole);
  if (season) {
    const { amplitude, peakDay } = season;
    tidy.push(row('seasonal amplitude', 'all', amplitude, unit, { stdError: amplitude.stdError }));
    const peak = options.measure === 'angle' ? 'day of highest drift' : 'day of fastest growth';
    if (peakDay) tidy.push(row(peak, 'all', peakDay, 'day of the year', { stdError: peakDay.stdError }));
  }
  for (const { of, sd } of spreads) {
    const known = isUnavailable(sd) ? { estimate: Math.sqrt(fit.variances[of]), low: null, high: null } : sd;
    tidy.push(row(SPREADS[of].term, 'all', known, SPREADS[of].isRate ? unit : amountUnit));
  }
  if (!isUnavailable(lag)) {
    tidy.push(row('correlation of neighbouring changes beyond their rates', 'all', lag, 'correlation'));
  }
  return tidyTable(analysis, title, tidy);
}

export function growthLevels(answer: GrowthAnswer): ResultTable {
  const levels = levelRates(answer);
  const { term, title } = MEASURES[answer.options.measure];
  return {
    name: 'levels',
    title: `${title} by group`,
    relation: 'trim_cycle',
    columns: [{ name: 'level', label: 'Group' }, ...shownRate(answer), ...SHOWN_COUNTS],
    table: makeTable({
      level: textColumn(levels.map((l) => l.level)),
      ...estimateColumns(levels.map((l) => l.rate)),
      ...errorColumn(levels.map((l) => l.rate)),
      ...countColumns(levels.map((l) => l.counts)),
      ...behindColumns(levels.map((l) => ({ where: l.where, title: `${term}, ${l.level}` }))),
    }),
  };
}

/** Each horse's own rate at its usual mix of groups over the whole year, drawn towards the herd; beside it the plain one. */
export function growthPerHorse(answer: GrowthAnswer): ResultTable {
  const { options, rows, design, fit, where } = answer;
  const { term, title, unit } = MEASURES[options.measure];
  const n = rows.days.length;
  const p = design.names.length;
  const horses = rows.horseIds.length;
  const mean = new Float64Array(horses * p);
  const weight = new Float64Array(horses);
  const grown = new Float64Array(horses);
  const square = new Float64Array(horses);
  const cycles = new Float64Array(horses);
  const feet = new Float64Array(horses);
  const isSeen = new Uint8Array(rows.footKeys.length);
  const nLevels = design.levels.length;
  const ofLevel = new Float64Array(horses * nLevels);
  const levelSeen = new Float64Array(horses * nLevels);
  const columns = design.names.flatMap((_, j) =>
    j === design.season?.cos || j === design.season?.sin ? [] : [j],
  );
  for (let row = 0; row < n; row++) {
    const horse = rows.horse[row]!;
    const z = rows.days[row]! / 30;
    weight[horse]! += rows.days[row]!;
    for (let k = 0; k < columns.length; k++) {
      const j = columns[k]!;
      mean[horse * p + j]! += design.x[row * p + j]! * rows.days[row]!;
    }
    grown[horse]! += z * rows.amount[row]!;
    square[horse]! += z * z;
    cycles[horse]! += 1;
    const foot = rows.foot[row]!;
    if (isSeen[foot] === 0) feet[horse]! += 1;
    isSeen[foot] = 1;
    const level = horse * nLevels + design.levelOf[row]!;
    if (ofLevel[level] === 0) levelSeen[level] = row;
    ofLevel[level]! += 1;
  }
  const places = new Map(Array.from(fit.clusterIds, (id, i) => [id, i]));
  const rates = rows.horseIds.map((_, horse) => {
    const x = mean.slice(horse * p, horse * p + p).map((value) => value / weight[horse]!);
    const place = places.get(horse)!;
    return clusterRate(fit, place, x);
  });
  const groupOf = rows.horseIds.map((_, horse) => {
    // Of several with as many cycles the one seen first.
    let most = 0;
    for (let k = 1; k < nLevels; k++) {
      const [best, here] = [horse * nLevels + most, horse * nLevels + k];
      const more = ofLevel[here]! - ofLevel[best]!;
      if (more > 0 || (more === 0 && levelSeen[here]! < levelSeen[best]!)) most = k;
    }
    return design.levels[most] ?? null;
  });
  return {
    name: 'per_horse',
    title: `${title} of each horse`,
    relation: 'trim_cycle',
    columns: [
      { name: 'horse_id', label: 'Horse' },
      { name: 'horse_name', label: 'Name' },
      { name: 'called', label: 'Horse as it is called' },
      ...(options.by === 'none' ? [] : [{ name: 'level', label: 'Group' }]),
      ...shownRate(answer),
      { name: 'own_rate', label: 'Its own records alone', unit, digits: 2 },
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_cycles', label: 'Trim cycles', digits: 0 },
    ],
    table: makeTable({
      horse_id: textColumn(rows.horseIds),
      horse_name: textColumn(rows.horseNames),
      called: textColumn(calledNames(rows)),
      level: textColumn(groupOf),
      ...estimateColumns(rates),
      ...errorColumn(rates),
      own_rate: numberColumn(grown.map((value, horse) => value / square[horse]!)),
      n_feet: numberColumn(feet),
      n_cycles: numberColumn(cycles),
      ...behindColumns(
        rows.horseIds.map((id, horse) => ({
          where: allOf(where, isLevel('horse_id', id)),
          title: `${term} of ${rows.horseNames[horse] ?? id}`,
        })),
      ),
    }),
  };
}

/** The herd's mean rate through a year without a number: days of 2001, which no record is from. */
export function growthSeason(answer: HerdFigures): ResultTable {
  const { design, fit, options, rows, where } = answer;
  const { term, title } = MEASURES[options.measure];
  const first = civilDay(2001, 1, 1)!;
  const days = design.season ? Array.from({ length: 74 }, (_, i) => first + Math.min(i * 5, 364)) : [];
  const rates = days.map((day) => {
    const turn = (2 * Math.PI * day) / YEAR_DAYS;
    return meanRate(fit, herdPoint(design, Math.cos(turn), Math.sin(turn)));
  });
  return {
    name: 'season',
    title: `${title} through the year`,
    relation: 'trim_cycle',
    columns: [{ name: 'day', label: 'Day of the year' }, ...shownRate(answer), ...SHOWN_COUNTS],
    table: makeTable({
      day: dayColumn(days),
      ...estimateColumns(rates),
      ...errorColumn(rates),
      ...countColumns(days.map(() => rows.counts)),
      ...behindColumns(days.map(() => ({ where, title: `${term}, all horses` }))),
    }),
  };
}
