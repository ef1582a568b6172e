import { numbers, type Table } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import {
  type Condition,
  type CycleAsk,
  groupAsk,
  groupColumns,
  isRecorded,
  numberAsk,
} from '../cycle-table.ts';
import { footOrder, inOrder } from '../foot-order.ts';
import type { Counts } from '../format.ts';
import { allOf, type Coded, codeColumn, type Grouping, groupSql, isKnown, seenLevels } from '../groups.ts';
import { type GrowthOptions, MEASURES } from './options.ts';

/** Cycles with a usable regrowth: arrays of length n. */
export interface GrowthRows {
  readonly days: Float64Array;
  /** mm grown. */
  readonly amount: Float64Array;
  readonly seasonCos: Float64Array;
  readonly seasonSin: Float64Array;
  /** Codes; the names beside them. */
  readonly horse: Int32Array;
  readonly horseIds: readonly string[];
  /** Null for all where the rows came without names. */
  readonly horseNames: readonly (string | null)[];
  readonly foot: Int32Array;
  /** Of each code of `foot`: horse and foot, `H101 LF`. */
  readonly footKeys: readonly string[];
  readonly groups: ReadonlyMap<Grouping, Coded>;
  readonly counts: Counts;
}

/** Columns a growth fit splits or adjusts by. */
export function growthGroupings({ by, adjust }: GrowthOptions): Grouping[] {
  return [...new Set([...(by === 'none' ? [] : [by]), ...adjust])];
}

/** Unflagged cycles with the measure at both ends. */
export function growthWhere({ measure }: GrowthOptions): string {
  return allOf(`${quoteName(MEASURES[measure].column)} IS NOT NULL`, 'flag IS NULL');
}

/** Those of them with every grouping recorded. */
export const growthRowsWhere = (options: GrowthOptions): string =>
  allOf(growthWhere(options), ...growthGroupings(options).map(isKnown));

/** The rows of a fit as SQL: R is given these, and the analysis is held to what it makes of them. */
export function growthSql(options: GrowthOptions): string {
  const groupings = growthGroupings(options);
  const amount = quoteName(MEASURES[options.measure].column);
  const columns = [
    'horse_id, horse_name, foot_key, days, season_cos, season_sin',
    `${amount}::DOUBLE AS amount`,
    ...groupings.map((grouping) => `${groupSql(grouping)}::VARCHAR AS ${quoteName(`by ${grouping}`)}`),
  ].join(', ');
  return `SELECT ${columns} FROM trim_cycle WHERE ${growthRowsWhere(options)} ORDER BY horse_id, foot_key, visit_date`;
}

/** The conditions of `growthWhere`. */
export function growthConditions({ measure }: GrowthOptions): Condition[] {
  return [isRecorded(numberAsk(quoteName(MEASURES[measure].column))), 'flag IS NULL'];
}

/** The same rows from columns of the whole cohort. */
export function growthAsk(options: GrowthOptions): CycleAsk {
  const groupings = growthGroupings(options);
  const amount = quoteName(MEASURES[options.measure].column);
  return {
    columns: {
      ...CHANGE_COLUMNS,
      amount: numberAsk(amount),
      ...groupColumns(groupings),
    },
    where: [...growthConditions(options), ...groupings.map((grouping) => isRecorded(groupAsk(grouping)))],
  };
}

/** What a fit of any change over a cycle needs of it. */
export const FIT_COLUMNS: CycleAsk['columns'] = {
  days: numberAsk('days'),
  season_cos: numberAsk('season_cos'),
  season_sin: numberAsk('season_sin'),
};

/** The same with the names of horses, for tables of them. */
export const CHANGE_COLUMNS: CycleAsk['columns'] = { horse_name: groupAsk('horse_name'), ...FIT_COLUMNS };

/** Rows in an order that stands already, and groups of theirs beside those of the table. */
interface Chosen {
  readonly order: Uint32Array;
  readonly groups: ReadonlyMap<Grouping, Coded>;
}

/** Rows by horse, foot and day: as they come, or put so by the column `cycle_number` where there is one. */
export function gatherGrowth(table: Table, chosen?: Chosen): GrowthRows {
  const allFeet = codeColumn(table, 'foot_key');
  const order =
    chosen?.order ??
    ('cycle_number' in table.columns
      ? footOrder(allFeet.codes, numbers(table, 'cycle_number'), allFeet.levels.length)
      : null);
  const put = <V extends Float64Array | Int32Array>(values: V): V =>
    order ? inOrder(values, order) : values;
  const coded = (name: string): Coded => {
    const { levels, codes } = codeColumn(table, name);
    return chosen ? seenLevels({ levels, codes: put(codes) }) : { levels, codes: put(codes) };
  };
  const [horse, foot] = [coded('horse_id'), coded('foot_key')];
  const groups = new Map<Grouping, Coded>(chosen?.groups);
  for (const name of Object.keys(table.columns)) {
    if (name.startsWith('by ')) groups.set(name.slice(3), coded(name));
  }
  return {
    days: put(numbers(table, 'days')),
    amount: put(numbers(table, 'amount')),
    seasonCos: put(numbers(table, 'season_cos')),
    seasonSin: put(numbers(table, 'season_sin')),
    horse: horse.codes,
    horseIds: horse.levels,
    horseNames: namesOf(horse, 'horse_name' in table.columns ? coded('horse_name') : null),
    foot: foot.codes,
    footKeys: foot.levels,
    groups,
    counts: { horses: horse.levels.length, feet: foot.levels.length, cycles: horse.codes.length },
  };
}

/** Of each horse the name in the first of its rows that has one. */
function namesOf(horse: Coded, names: Coded | null): (string | null)[] {
  const found: (string | null)[] = horse.levels.map(() => null);
  let last = -1;
  for (let row = 0; names && row < names.codes.length; row++) {
    const [name, of] = [names.codes[row]!, horse.codes[row]!];
    if (name < 0 || of === last) continue;
    found[of] ??= names.levels[name]!;
    last = of;
  }
  return found;
}
