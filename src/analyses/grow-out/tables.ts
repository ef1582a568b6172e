import { isUnavailable } from '../../core/outcome.ts';
import { dayColumn, makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import { FOOT_LABELS } from '../../herd/vocabularies.ts';
import type { ResultTable } from '../analysis.ts';
import type { Counts } from '../format.ts';
import { allOf, isLevel } from '../groups.ts';
import {
  behindColumns,
  countColumns,
  estimateColumns,
  SHOWN_COUNTS,
  shareColumn,
  shownEstimate,
  shownShares,
} from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import { type Band, type Calibration, LATER_WORDS } from './calibration.ts';
import type { StandingNow } from './gather.ts';
import { GROWING_OUT, GROWING_OUT_KEYS } from './options.ts';
import { firstDay, hasPassed, lastDay, type Projection } from './project.ts';
import { HANDBOOK_MONTHS, type Renewal } from './renewal.ts';
import { PROBLEM_SQL } from './standing.ts';

export function projectionsTable({ projections, day }: StandingNow): ResultTable {
  const of = projections.map(({ standing }) => standing);
  return {
    name: 'projections',
    title: 'When each should be grown out',
    relation: 'foot_visit',
    columns: [
      { name: 'horse_id', label: 'Horse' },
      { name: 'horse_name', label: 'Name' },
      { name: 'client_id', label: 'Client' },
      { name: 'foot', label: 'Foot' },
      { name: 'problem', label: 'Problem' },
      { name: 'seen_on', label: 'Seen on' },
      { name: 'distance_mm', label: 'To grow down', unit: 'mm', digits: 1 },
      { name: 'date_from', label: 'Grown out from' },
      { name: 'date_to', label: 'to' },
      { name: 'date_estimate', label: 'Middle' },
      ...shownEstimate('Days from when seen', 0, 'days'),
      { name: 'basis', label: 'By' },
      { name: 'n_cycles', label: 'Its own trim cycles', digits: 0 },
      { name: 'n_visits', label: 'Its visits', digits: 0 },
    ],
    table: makeTable({
      horse_id: textColumn(of.map(({ horseId }) => horseId)),
      horse_name: textColumn(of.map(({ horseName }) => horseName)),
      client_id: textColumn(of.map(({ clientId }) => clientId)),
      foot_key: textColumn(of.map(({ footKey }) => footKey)),
      foot: textColumn(of.map(({ foot }) => FOOT_LABELS[foot as keyof typeof FOOT_LABELS] ?? foot)),
      problem: textColumn(of.map(({ problem }) => GROWING_OUT[problem])),
      seen_on: dayColumn(of.map(({ seenOn }) => seenOn)),
      distance_mm: numberColumn(of.map(({ distanceMm }) => distanceMm)),
      ...estimateColumns(projections.map(({ days }) => days)),
      date_estimate: dayColumn(
        projections.map(({ standing, days }) => standing.seenOn + Math.round(days.estimate)),
      ),
      date_from: dayColumn(projections.map(firstDay)),
      date_to: dayColumn(projections.map(lastDay)),
      has_passed: { type: 'boolean', values: projections.map((one) => hasPassed(one, day)) },
      place: numberColumn(projections.map((_, i) => i + 1)),
      basis: textColumn(projections.map(({ basis }) => basis)),
      n_cycles: numberColumn(projections.map(({ nCycles }) => nCycles)),
      n_visits: numberColumn(of.map(({ nVisits }) => nVisits)),
      ...behindColumns(
        of.map(({ footKey }) => ({
          where: isLevel('foot_key', footKey),
          title: `every visit to ${footKey}`,
        })),
      ),
    }),
  };
}

/** Distinct horses, feet and visits of some projections. */
export function countsOf(projections: readonly Projection[]): Counts {
  const of = projections.map(({ standing }) => standing);
  return {
    horses: new Set(of.map(({ horseId }) => horseId)).size,
    feet: new Set(of.map(({ footKey }) => footKey)).size,
    cycles: new Set(of.map(({ footKey, seenOn }) => `${footKey} ${seenOn}`)).size,
  };
}

/** The rows in which they were seen: of a visit given twice, those that tell of it. */
export function seenWhere(projections: readonly Projection[]): string {
  const of = GROWING_OUT_KEYS.flatMap((key) => {
    const visits = projections
      .filter(({ standing }) => standing.problem === key)
      .map(({ standing: { footKey, seenOn } }) => `(${literal(footKey)}, ${seenOn})`);
    if (visits.length === 0) return [];
    const there = `(foot_key, visit_date - DATE '1970-01-01') IN (${[...new Set(visits)].join(', ')})`;
    return [allOf(PROBLEM_SQL[key].present, there)];
  });
  return of.length === 1 ? of[0]! : `(${of.map((where) => `(${where})`).join(' OR ')})`;
}

export const bandWords = ({ low, high }: Band): string =>
  `${Math.round(low * 100)} to ${Math.round(high * 100)}\u00a0%`;

/** Bands in which horses can be told apart; of one horse alone nothing is said. */
export function toldBands({
  bands,
}: Calibration): (Band & { seen: Exclude<Band['seen'], { unavailable: unknown }> })[] {
  return bands.flatMap((band) => (isUnavailable(band.seen) ? [] : [{ ...band, seen: band.seen }]));
}

export function calibrationTable(calibration: Calibration): ResultTable {
  const bands = toldBands(calibration);
  return {
    name: 'calibration',
    title: 'How past projections held',
    relation: 'foot_visit',
    columns: [
      { name: 'problem', label: 'Problem' },
      { name: 'later_visit', label: 'By the' },
      { name: 'band', label: 'Chance given' },
      shareColumn('projected', 'Chance given, mean'),
      ...shownShares('Share seen clear'),
      { name: 'n_horses', label: 'Horses', digits: 0 },
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_visits', label: 'Projections', digits: 0 },
    ],
    table: makeTable({
      problem: textColumn(bands.map(({ problem }) => GROWING_OUT[problem])),
      later_visit: textColumn(bands.map(({ later }) => LATER_WORDS[later])),
      later: numberColumn(bands.map(({ later }) => later)),
      band: textColumn(bands.map(bandWords)),
      projected: numberColumn(bands.map(({ projected }) => projected)),
      ...estimateColumns(bands.map(({ seen }) => seen)),
      n_horses: numberColumn(bands.map(({ counts }) => counts.horses)),
      n_feet: numberColumn(bands.map(({ counts }) => counts.feet)),
      n_visits: numberColumn(bands.map(({ counts }) => counts.cycles)),
      ...behindColumns(bands),
    }),
  };
}

export function renewalTable(found: readonly Renewal[]): ResultTable {
  return {
    name: 'renewal',
    title: 'How long the whole toe takes to be renewed',
    relation: 'trim_cycle',
    columns: [
      { name: 'level', label: 'Breed type' },
      { name: 'basis', label: 'By' },
      ...shownEstimate('Renewal', 1, 'months'),
      { name: 'handbook_from', label: 'Handbooks from', unit: 'months', digits: 0 },
      { name: 'handbook_to', label: 'to', digits: 0 },
      { name: 'toe_mm', label: 'Toe after the trim', unit: 'mm', digits: 1 },
      { name: 'rate', label: 'Growth', unit: 'mm per 30 days', digits: 2 },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      level: textColumn(found.map(({ breedType }) => breedType)),
      basis: textColumn(found.map(({ basis }) => basis)),
      ...estimateColumns(found.map(({ months }) => months)),
      handbook_from: numberColumn(found.map(() => HANDBOOK_MONTHS[0])),
      handbook_to: numberColumn(found.map(() => HANDBOOK_MONTHS[1])),
      toe_mm: numberColumn(found.map(({ toeMm }) => toeMm)),
      rate: numberColumn(found.map(({ rate }) => rate)),
      ...countColumns(found.map(({ counts }) => counts)),
      ...behindColumns(found.map((one) => ({ where: one.where, title: `${one.basis}, ${one.breedType}` }))),
    }),
  };
}

export function growOutEstimates(
  now: StandingNow,
  calibration: Calibration,
  renewals: readonly Renewal[],
): ResultTable {
  const counted = (term: string, level: string, of: readonly Projection[]): TidyRow[] =>
    of.length === 0
      ? []
      : [
          {
            problem: null,
            term,
            level,
            estimate: of.length,
            stdError: null,
            low: null,
            high: null,
            unit: 'feet',
            counts: countsOf(of),
            behind: seenWhere(of),
            behindTitle: `${level}: visits at which it was seen`,
            behindRelation: 'foot_visit',
          },
        ];
  const standing = GROWING_OUT_KEYS.flatMap((key) =>
    counted(
      'feet on which it has to grow out, with a date',
      GROWING_OUT[key],
      now.projections.filter((one) => one.standing.problem === key),
    ),
  );
  const passed = counted(
    'of these, the whole range of dates has passed',
    'all',
    now.projections.filter((one) => hasPassed(one, now.day)),
  );
  const held = calibration.overall.flatMap((all): TidyRow[] => {
    if (isUnavailable(all.seen)) return [];
    const common = {
      problem: null,
      level: `${GROWING_OUT[all.problem]}, by the ${LATER_WORDS[all.later]}`,
      unit: 'share',
      counts: all.counts,
      behind: all.where,
      behindTitle: all.title,
      behindRelation: 'foot_visit' as const,
    };
    const { estimate, stdError, low, high } = all.seen;
    const { difference } = all;
    return [
      {
        ...common,
        term: 'projected to be grown out',
        estimate: all.projected,
        stdError: null,
        low: null,
        high: null,
      },
      { ...common, term: 'seen clear', estimate, stdError, low, high },
      ...(isUnavailable(difference)
        ? []
        : [
            {
              ...common,
              term: 'seen clear less projected',
              estimate: difference.estimate,
              stdError: difference.stdError,
              low: difference.low,
              high: difference.high,
            },
          ]),
    ];
  });
  const renewed = renewals.map((one): TidyRow => {
    const { estimate, stdError, low, high } = one.months;
    return {
      problem: null,
      term: `renewal of the toe by ${one.basis}`,
      level: `breed type: ${one.breedType}`,
      estimate,
      stdError,
      low,
      high,
      unit: 'months',
      counts: one.counts,
      behind: one.where,
      behindTitle: `${one.basis}, ${one.breedType}`,
      behindRelation: 'trim_cycle',
    };
  });
  return tidyTable('grow-out', 'Grow-out', [...standing, ...passed, ...held, ...renewed], 3);
}
