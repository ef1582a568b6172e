import {
  type Estimate,
  isUnavailable,
  type Outcome,
  type Unavailable,
  unavailable,
} from '../../core/outcome.ts';
import { numbers } from '../../core/table.ts';
import { clusteredRate } from '../../stats/clustered-rate.ts';
import { ratioInterval } from '../../stats/ratio-interval.ts';
import type { AskContext } from '../analysis.ts';
import { cycleTable, groupAsk, isRecorded, numberAsk } from '../cycle-table.ts';
import type { Counts } from '../format.ts';
import { allOf, type Coded, codeColumn, isKnown, isLevel } from '../groups.ts';
import { cohortVisits, horseOf } from '../visit-rows.ts';
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

/** Renewal of the toe by breed type: by gross growth where marks tell it, and by net growth. */
export async function renewals(context: AskContext): Promise<{ found: Renewal[]; refused: Unavailable[] }> {
  const toe = sumsByBreed(await toes(context));
  const found: Renewal[] = [];
  const without = new Map<Basis, string[]>();
  for (const { basis, column } of BASES) {
    const where = allOf('flag IS NULL', `${column} IS NOT NULL`, isKnown('breed_type'));
    const breed = groupAsk('breed_type');
    const table = await cycleTable(context, {
      columns: { breed, grown: numberAsk(column), days: numberAsk('days') },
      where: ['flag IS NULL', isRecorded(numberAsk(column)), isRecorded(breed)],
    });
    const rates = sumsByBreed({
      breed: codeColumn(table, 'breed'),
      horse: codeColumn(table, 'horse_id').codes,
      foot: codeColumn(table, 'foot_key').codes,
      amount: numbers(table, 'grown'),
      exposure: numbers(table, 'days').map((days) => days / 30),
    });
    for (const [breedType, length] of toe) {
      const rate = rates.get(breedType);
      const months = rate && monthsOf(length, rate);
      if (!rate || !months || isUnavailable(months)) {
        without.set(basis, [...(without.get(basis) ?? []), breedType]);
        continue;
      }
      found.push({
        breedType,
        basis,
        months,
        toeMm: length.amount / length.exposure,
        rate: rate.amount / rate.exposure,
        counts: rate.counts,
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
  readonly counts: Counts;
}

/** Rows of known breed types, by horse and foot: arrays of length n. */
interface BreedRows {
  readonly breed: Coded;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly amount: Float64Array;
  readonly exposure: Float64Array;
}

/** Toe lengths after the trim, each with one reading. */
async function toes(context: AskContext): Promise<BreedRows> {
  const visits = await cohortVisits(context, [groupAsk('breed_type'), numberAsk('toe_after_mm')]);
  const [breed, mm] = visits.columns as [Coded, Float64Array];
  const rows = visits.places.filter((row) => breed.codes[row]! >= 0 && !Number.isNaN(mm[row]!));
  const [codes, horse, foot] = [rows, rows, rows].map(() => new Int32Array(rows.length)) as [
    Int32Array,
    Int32Array,
    Int32Array,
  ];
  const amount = new Float64Array(rows.length);
  for (let i = 0; i < rows.length; i++) {
    const row = rows[i]!;
    codes[i] = breed.codes[row]!;
    foot[i] = visits.foot[row]!;
    horse[i] = horseOf(visits.foot[row]!);
    amount[i] = mm[row]!;
  }
  const exposure = new Float64Array(rows.length).fill(1);
  return { breed: { levels: breed.levels, codes }, horse, foot, amount, exposure };
}

/** Of each breed type the sums of all its rows, with the error of their ratio by horses. */
function sumsByBreed({ breed, horse, foot, amount, exposure }: BreedRows): Map<string, Sums> {
  const ofHorses = breed.levels.map(() => new Map<number, [amount: number, exposure: number]>());
  const feet = breed.levels.map(() => new Set<number>());
  const cycles = breed.levels.map(() => 0);
  breed.codes.forEach((of, row) => {
    const known = ofHorses[of]!.get(horse[row]!);
    if (known) {
      known[0] += amount[row]!;
      known[1] += exposure[row]!;
    } else ofHorses[of]!.set(horse[row]!, [amount[row]!, exposure[row]!]);
    if (row === 0 || foot[row] !== foot[row - 1] || of !== breed.codes[row - 1]) feet[of]!.add(foot[row]!);
    cycles[of]! += 1;
  });
  const total = (values: Float64Array) => values.reduce((sum, value) => sum + value, 0);
  return new Map(
    breed.levels.flatMap((level, k) => {
      const sums = [...ofHorses[k]!.values()];
      if (sums.length === 0) return [];
      const [y, z] = [Float64Array.from(sums, ([a]) => a), Float64Array.from(sums, ([, e]) => e)];
      const counts = { horses: sums.length, feet: feet[k]!.size, cycles: cycles[k]! };
      const of = clusteredRate(y, z, Int32Array.from(y.keys()));
      return [[level, { amount: total(y), exposure: total(z), of, counts }] as const];
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
