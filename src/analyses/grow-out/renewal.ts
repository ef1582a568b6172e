import {
  type Estimate,
  isUnavailable,
  type Outcome,
  type Unavailable,
  unavailable,
} from '../../core/outcome.ts';
import { numbers, texts } from '../../core/table.ts';
import { clusteredRate } from '../../stats/clustered-rate.ts';
import { ratioInterval } from '../../stats/ratio-interval.ts';
import type { AnalysisContext } from '../analysis.ts';
import type { Counts } from '../format.ts';
import { allOf, code, isKnown, isLevel } from '../groups.ts';
import type { Basis } from './project.ts';

/** Mean month, days: 365.25 / 12. */
const MONTH_DAYS = 30.4375;

/** Renewal of the toe in the textbooks: Lungwitz, A Textbook of Horseshoeing (public domain; read). */
export const HANDBOOK_MONTHS = [11, 13] as const;

/** How long the whole toe takes to be renewed: its length over the rate at which the wall moves down. */
export interface Renewal {
  readonly breedType: string;
  readonly basis: Basis;
  /** Months. */
  readonly months: Estimate;
  readonly toeMm: number;
  /** mm per 30 days. */
  readonly rate: number;
  /** Those of the rate. */
  readonly counts: Counts;
  readonly where: string;
}

const BASES: readonly { readonly basis: Basis; readonly column: string }[] = [
  { basis: 'growth and wear', column: 'gross_growth_mm' },
  { basis: 'net growth alone', column: 'toe_regrowth_mm' },
];

/** Sums a horse: a herd of any size comes as so many rows. */
const rateSql = (column: string, where: string): string => `
  SELECT breed_type::VARCHAR AS breed_type, horse_id, sum(${column})::DOUBLE AS grown, sum(days)::DOUBLE / 30 AS months,
    count(*) AS cycles, count(DISTINCT foot_key) AS feet
  FROM trim_cycle WHERE ${where}
  GROUP BY ALL ORDER BY breed_type, horse_id`;

const TOE_SQL = `
  SELECT breed_type::VARCHAR AS breed_type, horse_id, sum(toe_after_mm)::DOUBLE AS mm, count(*)::DOUBLE AS readings
  FROM foot_visit WHERE toe_after_mm IS NOT NULL AND breed_type IS NOT NULL
  GROUP BY ALL ORDER BY breed_type, horse_id`;

/** Renewal of the toe by breed type: by gross growth where marks tell it, and by net growth. */
export async function renewals({
  engine,
  signal,
}: Pick<AnalysisContext, 'engine' | 'signal'>): Promise<{ found: Renewal[]; refused: Unavailable[] }> {
  const toes = await engine.query(TOE_SQL, signal);
  const toe = byBreed(
    texts(toes, 'breed_type'),
    texts(toes, 'horse_id'),
    numbers(toes, 'mm'),
    numbers(toes, 'readings'),
  );
  const found: Renewal[] = [];
  const without = new Map<Basis, string[]>();
  for (const { basis, column } of BASES) {
    const where = allOf('flag IS NULL', `${column} IS NOT NULL`, isKnown('breed_type'));
    const table = await engine.query(rateSql(column, where), signal);
    const breeds = texts(table, 'breed_type');
    const rates = byBreed(
      breeds,
      texts(table, 'horse_id'),
      numbers(table, 'grown'),
      numbers(table, 'months'),
    );
    for (const [breedType, length] of toe) {
      const rate = rates.get(breedType);
      const months = rate && monthsOf(length, rate);
      if (!rate || !months || isUnavailable(months)) {
        without.set(basis, [...(without.get(basis) ?? []), breedType]);
        continue;
      }
      const rows = Array.from(breeds.keys()).filter((row) => breeds[row] === breedType);
      const sum = (name: string) => rows.reduce((total, row) => total + numbers(table, name)[row]!, 0);
      found.push({
        breedType,
        basis,
        months,
        toeMm: length.amount / length.exposure,
        rate: rate.amount / rate.exposure,
        counts: { horses: rows.length, feet: sum('feet'), cycles: sum('cycles') },
        where: allOf(where, isLevel('breed_type', breedType)),
      });
    }
  }
  const refused = Array.from(without, ([basis, breeds]) =>
    unavailable(
      'no-rows',
      `how long the toe takes to be renewed by ${basis === 'growth and wear' ? 'gross growth' : 'net growth'} cannot be told for these breed types, from too few horses: ${breeds.join(', ')}.`,
    ),
  );
  return {
    found: found.sort((a, b) => (a.breedType < b.breedType ? -1 : a.breedType > b.breedType ? 1 : 0)),
    refused,
  };
}

interface Sums {
  readonly amount: number;
  readonly exposure: number;
  readonly of: ReturnType<typeof clusteredRate>;
}

function byBreed(
  breeds: readonly (string | null)[],
  horses: readonly (string | null)[],
  amount: Float64Array,
  exposure: Float64Array,
): Map<string, Sums> {
  const { levels, codes } = code(breeds);
  return new Map(
    levels.map((level, k) => {
      const rows = Array.from(codes.keys()).filter((row) => codes[row] === k);
      const [y, z] = [
        Float64Array.from(rows, (row) => amount[row]!),
        Float64Array.from(rows, (row) => exposure[row]!),
      ];
      const cluster = code(rows.map((row) => horses[row]!)).codes;
      const total = (values: Float64Array) => values.reduce((sum, value) => sum + value, 0);
      return [level, { amount: total(y), exposure: total(z), of: clusteredRate(y, z, cluster) }];
    }),
  );
}

/** Months of a length over a rate per 30 days, each with its error by horses. */
function monthsOf(length: Sums, rate: Sums): Outcome<Estimate> {
  if (isUnavailable(length.of)) return length.of;
  if (isUnavailable(rate.of)) return rate.of;
  const degrees = Math.min(length.of.nClusters, rate.of.nClusters) - 1;
  const ratio = ratioInterval(length.of, rate.of, degrees);
  if (isUnavailable(ratio)) return ratio;
  const scale = 30 / MONTH_DAYS;
  return {
    estimate: ratio.estimate * scale,
    stdError: ratio.stdError! * scale,
    low: ratio.low * scale,
    high: ratio.high * scale,
  };
}
