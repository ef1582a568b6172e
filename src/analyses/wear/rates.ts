import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import { numbers, type Table } from '../../core/table.ts';
import { type ClusteredRate, clusteredRate } from '../../stats/clustered-rate.ts';
import { type Condition, type CycleAsk, groupAsk, isRecorded, numberAsk } from '../cycle-table.ts';
import type { Counts } from '../format.ts';
import { allOf, codeColumn, countOf, isKnown, isLevel, rowsByLevel } from '../groups.ts';
import type { WearOptions } from './options.ts';

/** Cycles with the same mark read at both ends, and the toe measured after the trim and at the next visit. */
export function wearWhere({ by }: WearOptions): string {
  return allOf(
    'flag IS NULL',
    'gross_growth_mm IS NOT NULL',
    'toe_regrowth_mm IS NOT NULL',
    by === 'none' ? null : isKnown(by),
  );
}

/** The conditions of `wearWhere` where nothing is compared. */
export const MARKED: readonly Condition[] = [
  'flag IS NULL',
  isRecorded(numberAsk('gross_growth_mm')),
  isRecorded(numberAsk('toe_regrowth_mm')),
];

/** These cycles, from columns of the whole cohort; of those for which `further` holds. */
export function wearAsk({ by }: WearOptions, further: readonly Condition[] = []): CycleAsk {
  const level = by === 'none' ? null : groupAsk(by);
  return {
    columns: {
      days: numberAsk('days'),
      gross: numberAsk('gross_growth_mm'),
      net: numberAsk('toe_regrowth_mm'),
      ...(level && { level }),
    },
    where: [...MARKED, ...further],
  };
}

/** Gross less net is wear, exactly: all three are sums over the same days. */
export interface WearRates {
  readonly level: string;
  /** mm per 30 days. */
  readonly gross: Outcome<ClusteredRate>;
  readonly net: Outcome<ClusteredRate>;
  readonly wear: Outcome<ClusteredRate>;
  /** Wear over gross growth. */
  readonly share: Outcome<ClusteredRate>;
  readonly counts: Counts;
  readonly where: string;
}

/** All together first, then each level. */
export function wearRates(table: Table, options: WearOptions): WearRates[] {
  const { by } = options;
  const days = numbers(table, 'days');
  const gross = numbers(table, 'gross');
  const net = numbers(table, 'net');
  const horse = codeColumn(table, 'horse_id').codes;
  const foot = codeColumn(table, 'foot_key').codes;
  const coded = by === 'none' ? { levels: [], codes: horse } : codeColumn(table, 'level');
  const byLevel = by === 'none' ? [] : rowsByLevel(coded);
  const of = (level: string, rows: readonly number[]): WearRates => {
    const horses = new Int32Array(rows.length);
    const [months, grossMm, netMm, wearMm] = [rows, rows, rows, rows].map(
      () => new Float64Array(rows.length),
    ) as [Float64Array, Float64Array, Float64Array, Float64Array];
    for (let i = 0; i < rows.length; i++) {
      const row = rows[i]!;
      horses[i] = horse[row]!;
      months[i] = days[row]! / 30;
      grossMm[i] = gross[row]!;
      netMm[i] = net[row]!;
      wearMm[i] = gross[row]! - net[row]!;
    }
    return {
      level,
      gross: clusteredRate(grossMm, months, horses),
      net: clusteredRate(netMm, months, horses),
      wear: clusteredRate(wearMm, months, horses),
      share: clusteredRate(wearMm, grossMm, horses),
      counts: countOf(horse, foot, rows),
      where:
        level === 'all' || by === 'none' ? wearWhere(options) : allOf(wearWhere(options), isLevel(by, level)),
    };
  };
  return [
    of(
      'all',
      Array.from({ length: table.rowCount }, (_, row) => row),
    ),
    ...coded.levels.flatMap((level, k) => (byLevel[k] ? [of(level, byLevel[k])] : [])),
  ];
}

/** What is told of each level, in the order of tables. */
const WEAR_MEASURES = [
  { key: 'gross', term: 'gross growth', unit: 'mm per 30 days' },
  { key: 'net', term: 'net growth', unit: 'mm per 30 days' },
  { key: 'wear', term: 'wear', unit: 'mm per 30 days' },
  { key: 'share', term: 'wear as a share of gross growth', unit: 'share' },
] as const;

export interface WearFigure {
  readonly rates: WearRates;
  readonly measure: (typeof WEAR_MEASURES)[number];
  readonly rate: ClusteredRate;
}

export function wearFigures(all: readonly WearRates[]): WearFigure[] {
  return all.flatMap((rates) =>
    WEAR_MEASURES.flatMap((measure) => {
      const rate = rates[measure.key];
      return isUnavailable(rate) ? [] : [{ rates, measure, rate }];
    }),
  );
}
