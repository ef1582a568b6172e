import { numbers, type Table, texts } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import type { Counts } from '../format.ts';
import { allOf, type Coded, code, countRows, type Grouping, groupSql, isKnown } from '../groups.ts';
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

/** The rows and the condition that selects them: unflagged cycles with the measure and every grouping recorded. */
export function growthSql(options: GrowthOptions): { sql: string; where: string } {
  const groupings = growthGroupings(options);
  const amount = quoteName(MEASURES[options.measure].column);
  const where = allOf(growthWhere(options), ...groupings.map(isKnown));
  const columns = ['horse_id', 'horse_name', 'foot_key', 'days', 'season_cos', 'season_sin'];
  return {
    where,
    sql: `
      SELECT ${columns.join(', ')}, ${amount}::DOUBLE AS amount
        ${groupings.map((grouping) => `, ${groupSql(grouping)}::VARCHAR AS ${quoteName(`by ${grouping}`)}`).join('')}
      FROM trim_cycle WHERE ${where}
      ORDER BY horse_id, foot_key, visit_date`,
  };
}

export function gatherGrowth(table: Table): GrowthRows {
  const horses = code(texts(table, 'horse_id'));
  const { codes: foot, levels: footKeys } = code(texts(table, 'foot_key'));
  const names = texts(table, 'horse_name');
  const horseNames: (string | null)[] = horses.levels.map(() => null);
  horses.codes.forEach((horse, row) => {
    horseNames[horse] ??= names[row] ?? null;
  });
  const groups = new Map<Grouping, Coded>();
  for (const name of Object.keys(table.columns)) {
    if (name.startsWith('by ')) groups.set(name.slice(3) as Grouping, code(texts(table, name)));
  }
  return {
    days: numbers(table, 'days'),
    amount: numbers(table, 'amount'),
    seasonCos: numbers(table, 'season_cos'),
    seasonSin: numbers(table, 'season_sin'),
    horse: horses.codes,
    horseIds: horses.levels,
    horseNames,
    foot,
    footKeys,
    groups,
    counts: countRows(horses.codes, foot, () => true),
  };
}
