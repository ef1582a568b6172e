import {
  type Estimate,
  isUnavailable,
  type Outcome,
  type Unavailable,
  unavailable,
} from '../../core/outcome.ts';
import { numbers } from '../../core/table.ts';
import { clusteredRate } from '../../stats/clustered-rate.ts';
import { numberIds } from '../../stats/number-keys.ts';
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
      exposure: monthsIn(numbers(table, 'days')),
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

function monthsIn(days: Float64Array): Float64Array {
  const months = new Float64Array(days.length);
  for (let row = 0; row < months.length; row++) months[row] = days[row]! / 30;
  return months;
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
  const { places } = visits;
  const [codes, horse, foot] = [places, places, places].map(() => new Int32Array(places.length)) as [
    Int32Array,
    Int32Array,
    Int32Array,
  ];
  const amount = new Float64Array(places.length);
  let n = 0;
  for (let i = 0; i < places.length; i++) {
    const row = places[i]!;
    if (breed.codes[row]! < 0 || Number.isNaN(mm[row]!)) continue;
    codes[n] = breed.codes[row]!;
    foot[n] = visits.foot[row]!;
    horse[n] = horseOf(visits.foot[row]!);
    amount[n++] = mm[row]!;
  }
  return {
    breed: { levels: breed.levels, codes: codes.subarray(0, n) },
    horse: horse.subarray(0, n),
    foot: foot.subarray(0, n),
    amount: amount.subarray(0, n),
    exposure: new Float64Array(n).fill(1),
  };
}

/** Of each breed type the sums of all its rows, with the error of their ratio by horses. */
function sumsByBreed({ breed, horse, foot, amount, exposure }: BreedRows): Map<string, Sums> {
  const nBreeds = breed.levels.length;
  const slots = numberIds(mixed(horse, breed.codes, nBreeds));
  const feet = numberIds(mixed(foot, breed.codes, nBreeds));
  // A horse has rows of one breed type, as a rule; each of several counts by itself.
  const [y, z] = [new Float64Array(slots.firstRow.length), new Float64Array(slots.firstRow.length)];
  for (let row = 0; row < amount.length; row++) {
    y[slots.numberOf[row]!]! += amount[row]!;
    z[slots.numberOf[row]!]! += exposure[row]!;
  }
  const ofBreed = (rows: Int32Array): number[][] => {
    const lists = breed.levels.map((): number[] => []);
    for (let k = 0; k < rows.length; k++) lists[breed.codes[rows[k]!]!]!.push(k);
    return lists;
  };
  const [horses, nFeet] = [ofBreed(slots.firstRow), ofBreed(feet.firstRow).map((list) => list.length)];
  const cycles = new Int32Array(nBreeds);
  for (let row = 0; row < breed.codes.length; row++) cycles[breed.codes[row]!]! += 1;
  const total = (values: Float64Array) => values.reduce((sum, value) => sum + value, 0);
  return new Map(
    breed.levels.flatMap((level, k) => {
      const own = horses[k]!;
      if (own.length === 0) return [];
      const [grown, over] = [Float64Array.from(own, (at) => y[at]!), Float64Array.from(own, (at) => z[at]!)];
      const counts = { horses: own.length, feet: nFeet[k]!, cycles: cycles[k]! };
      const of = clusteredRate(grown, over, Int32Array.from(own.keys()));
      return [[level, { amount: total(grown), exposure: total(over), of, counts }] as const];
    }),
  );
}

/** One code of two. */
function mixed(codes: Int32Array, others: Int32Array, nOthers: number): Int32Array {
  const found = new Int32Array(codes.length);
  for (let row = 0; row < found.length; row++) found[row] = codes[row]! * nOthers + others[row]!;
  return found;
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
