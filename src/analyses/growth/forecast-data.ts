import { type CivilDay, isoFromDay } from '../../core/civil-day.ts';
import { numbers, type Table } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import { FEET } from '../../herd/vocabularies.ts';
import type { AskContext } from '../analysis.ts';
import { type CycleAsk, endedAsk, groupAsk, holdsAsk, numberAsk } from '../cycle-table.ts';
import { inOrder } from '../foot-order.ts';
import { allOf, type Coded, codeColumn, seenLevels } from '../groups.ts';
import { cohortVisits, horseOf, numberOfFoot } from '../visit-rows.ts';
import { FIT_COLUMNS, type GrowthRows, gatherGrowth } from './data.ts';

/** The level of a foot or cycle without a breed type, or without a ground: it counts, on a level of its own. */
const NOT_RECORDED = 'not recorded';

/** What decides a foot's mean growth ahead. */
export interface FootAhead {
  readonly horseId: string;
  readonly breedType: string;
  /** Ground of its latest visit at which one was recorded. */
  readonly terrain: string;
}

/** The same of every foot of the cohort, by its number. */
export interface FeetAhead {
  readonly horseIds: readonly string[];
  /** Place of the breed type; below −1 where the cohort has no such foot. */
  readonly breed: Int32Array;
  readonly breeds: readonly string[];
  readonly ground: Int32Array;
  readonly grounds: readonly string[];
}

const NO_FOOT = -2;

/** One foot of them; null where there is none. */
export function footAhead(
  { horseIds, breed, breeds, ground, grounds }: FeetAhead,
  footKey: string,
): FootAhead | null {
  const foot = numberOfFoot(horseIds, footKey);
  if (foot < 0 || breed[foot] === NO_FOOT) return null;
  return {
    horseId: horseIds[horseOf(foot)]!,
    breedType: breeds[breed[foot]!] ?? NOT_RECORDED,
    terrain: grounds[ground[foot]!] ?? NOT_RECORDED,
  };
}

/** Name under which the ground of the cycle before stands among the groups of the rows. */
export const GROUND_BEFORE = 'ground before';

/** The cycles that the model is fitted to: unflagged, the toe measured at both ends, ended by a day. */
export const forecastWhere = (asOf?: CivilDay): string =>
  allOf(
    'toe_regrowth_mm IS NOT NULL',
    'flag IS NULL',
    asOf === undefined ? null : `next_date <= DATE ${literal(isoFromDay(asOf))}`,
  );

/**
 * Every cycle, and whether it may be fitted to: whatever day is asked for, these are the same. The others tell what ground a
 * foot was on before.
 */
export const CYCLES_ASK: CycleAsk = {
  columns: {
    ...FIT_COLUMNS,
    amount: numberAsk('toe_regrowth_mm'),
    breed_type: groupAsk('breed_type'),
    terrain: groupAsk('terrain'),
    ended: endedAsk,
    is_routine: holdsAsk('flag IS NULL'),
  },
  where: [],
};

/** The rows that the model is fitted to, each with its ground, and with that of the cycle before. */
export function gatherForecast(table: Table, asOf: CivilDay | undefined): GrowthRows {
  const foot = codeColumn(table, 'foot_key').codes;
  const terrain = codeColumn(table, 'terrain');
  const breed = codeColumn(table, 'breed_type');
  const until = asOf ?? Number.POSITIVE_INFINITY;
  const [ended, amount] = [numbers(table, 'ended'), numbers(table, 'amount')];
  const isRoutine = numbers(table, 'is_routine');
  const used = new Uint32Array(table.rowCount);
  let n = 0;
  for (let row = 0; row < used.length; row++) {
    if (isRoutine[row] === 1 && !Number.isNaN(amount[row]!) && ended[row]! <= until) used[n++] = row;
  }
  const order = used.subarray(0, n);
  const before = groundBefore(order, foot, terrain.codes);
  return gatherGrowth(table, {
    order,
    groups: new Map([
      ['breed_type', unrecordedToo({ levels: breed.levels, codes: inOrder(breed.codes, order) })],
      ['terrain', unrecordedToo({ levels: terrain.levels, codes: inOrder(terrain.codes, order) })],
      [GROUND_BEFORE, seenLevels({ levels: terrain.levels, codes: before })],
    ]),
  });
}

/** Of each of these rows the ground of the foot's row before it; −1 where there is none. */
function groundBefore(order: Uint32Array, foot: Int32Array, ground: Int32Array): Int32Array {
  const found = new Int32Array(order.length);
  for (let i = 0; i < found.length; i++) {
    const row = order[i]!;
    found[i] = row > 0 && foot[row - 1] === foot[row] ? ground[row - 1]! : -1;
  }
  return found;
}

/** What was not recorded is a level of its own. */
function unrecordedToo({ levels: recorded, codes }: Coded): Coded {
  const levels = [...recorded, NOT_RECORDED].sort();
  const place = Int32Array.from(recorded, (level) => levels.indexOf(level));
  const none = levels.indexOf(NOT_RECORDED);
  const found = new Int32Array(codes.length);
  for (let row = 0; row < found.length; row++) found[row] = codes[row]! < 0 ? none : place[codes[row]!]!;
  return seenLevels({ levels, codes: found });
}

/** Every foot of the cohort. As of a day: on the ground of its latest visit by then, else of its first. */
export async function feetAhead(context: AskContext, asOf: CivilDay | undefined): Promise<FeetAhead> {
  const asks = [groupAsk('breed_type'), groupAsk('terrain')];
  const visits = await cohortVisits(context, asks);
  const { places, horseIds, foot, day } = visits;
  const [ofBreed, ofGround] = visits.columns as [Coded, Coded];
  const until = asOf ?? Number.POSITIVE_INFINITY;
  const breed = new Int32Array(horseIds.length * FEET.length).fill(NO_FOOT);
  const ground = new Int32Array(breed.length).fill(-1);
  let lastDay = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < places.length; i++) {
    const row = places[i]!;
    const at = foot[row]!;
    if (breed[at] === NO_FOOT) lastDay = Number.NEGATIVE_INFINITY;
    if (breed[at]! < 0) breed[at] = ofBreed.codes[row]!;
    const here = ofGround.codes[row]!;
    if (here < 0) continue;
    const isLatest = day[row]! <= until && day[row]! > lastDay;
    if (isLatest || ground[at]! < 0) ground[at] = here;
    if (isLatest) lastDay = day[row]!;
  }
  return { horseIds, breed, breeds: ofBreed.levels, ground, grounds: ofGround.levels };
}
