import type { DerivedSteps } from './derived-steps.ts';
import { FOOT_ROW, HERD } from './herd-names.ts';
import { HORSE_FACTS, OWN_FACTS } from './horse-facts.ts';
import { FOOT_ENUMERATIONS, textsOf } from './kept-types.ts';

export interface RelationOptions {
  /** Seasons are the meteorological ones: MAM, JJA, SON, DJF in the north, swapped in the south. */
  readonly hemisphere: 'north' | 'south';
  /** Columns that the user has added. */
  readonly derived?: DerivedSteps;
}

type Season = 'winter' | 'spring' | 'summer' | 'autumn';

/** A level as an SQL constant. */
const text = (level: string): string => `'${level}'`;

export const season = (
  day: string,
  { hemisphere }: RelationOptions,
  constant: (name: Season) => string = text,
): string => {
  const seasons: readonly Season[] =
    hemisphere === 'north'
      ? ['winter', 'spring', 'summer', 'autumn']
      : ['summer', 'autumn', 'winter', 'spring'];
  const names = seasons.map(constant);
  // December counts with the January that follows it.
  return `CASE (month(${day}) % 12) // 3 WHEN 0 THEN ${names[0]} WHEN 1 THEN ${names[1]} WHEN 2 THEN ${names[2]} ELSE ${names[3]} END`;
};

function footEnd(constant: (end: 'fore' | 'hind') => string): string {
  return `CASE WHEN foot IN ('LF', 'RF') THEN ${constant('fore')} ELSE ${constant('hind')} END`;
}

/** What a row is called unless it keeps another name: its horse, day and foot. */
export const ROW_IDENTITY = "horse_id || '|' || visit_date::VARCHAR || '|' || foot::VARCHAR";
/** Fore or hind, from the foot of a row. */
export const FOOT_END = footEnd(text);
/** What follows from which foot a row is of. */
export const footParts = (
  constant: (...level: ['foot_end', 'fore' | 'hind'] | ['foot_side', 'left' | 'right']) => string = (
    _,
    level,
  ) => text(level),
): string => `${footEnd((end) => constant('foot_end', end))} AS foot_end,
  CASE WHEN foot IN ('LF', 'LH') THEN ${constant('foot_side', 'left')} ELSE ${constant('foot_side', 'right')} END AS foot_side`;
export const FOOT_KEY = "horse_id || ' ' || foot::VARCHAR AS foot_key";

/** The name of a row of `foot_row` or `cycle_row`. */
export const ROW_KEY = `coalesce(kept_key, ${ROW_IDENTITY})`;

const textOf = (name: string): string => (FOOT_ENUMERATIONS.includes(name) ? `${name}::VARCHAR` : name);

/**
 * The two views of the kept rows: `foot_visit_all`, with what follows from a row (its name, the end and side of the
 * foot, the season, the horse's age), and `visit_row`, with only those facts of the horse that the row states itself.
 */
export function footVisitSql(options: RelationOptions): string[] {
  const own = HORSE_FACTS.map(
    (name, bit) => `CASE WHEN ${OWN_FACTS} & ${1 << bit} <> 0 THEN ${textOf(name)} END AS ${name}`,
  );
  const others = FOOT_ENUMERATIONS.filter((name) => !HORSE_FACTS.some((fact) => fact === name));
  return [
    `CREATE OR REPLACE VIEW ${HERD}.foot_visit_all AS
SELECT * EXCLUDE (${OWN_FACTS}, kept_key) REPLACE (${textsOf(FOOT_ENUMERATIONS)}),
  ${ROW_KEY} AS row_key,
  year(visit_date) - birth_year AS age_years,
  ${footParts()},
  ${FOOT_KEY},
  ${season('visit_date', options)} AS season
FROM ${FOOT_ROW}`,
    `CREATE OR REPLACE VIEW ${HERD}.visit_row AS
SELECT * EXCLUDE (${OWN_FACTS}, kept_key) REPLACE (${[...own, textsOf(others)].join(', ')}), ${ROW_KEY} AS row_key
FROM ${FOOT_ROW}`,
  ];
}

/**
 * Adds rows to those kept, their horse's facts filled in as at loading. `rows` is a SELECT of the columns of `visit_row`
 * without derived ones.
 */
export function addRowsSql(rows: string): string {
  const fallback = (name: string): string =>
    name === 'breed_type' ? 'coalesce(h.breed_type, b.breed_type)' : `h.${name}`;
  const facts = HORSE_FACTS.map((name) => `coalesce(v.${name}, ${fallback(name)}) AS ${name}`);
  const own = HORSE_FACTS.map((name, bit) => `(CASE WHEN v.${name} IS NULL THEN 0 ELSE ${1 << bit} END)`);
  return `INSERT INTO ${FOOT_ROW} BY NAME
SELECT v.* EXCLUDE (${HORSE_FACTS.join(', ')}, row_key), ${facts.join(', ')},
  (${own.join(' + ')})::INTEGER AS ${OWN_FACTS},
  nullif(v.row_key, v.horse_id || '|' || v.visit_date::VARCHAR || '|' || v.foot) AS kept_key
FROM (${rows}) v
LEFT JOIN ${HERD}.horse_row h ON h.horse_id = v.horse_id
LEFT JOIN ${HERD}.breed_map b ON b.breed = coalesce(v.breed, h.breed)`;
}

/** The horse that the name of a row speaks of; its id may hold the sign that parts them. */
export const horseOfKey = (key: string): string => key.split('|').slice(0, -2).join('|');

/**
 * Numbers of the rows that bear these names, as a SELECT of `row_no`. The horses that the names speak of are looked up
 * first: to name every row of a large herd would take long.
 */
export function rowsNamedSql(keys: Iterable<string>, literal: (text: string) => string): string {
  const listed = [...new Set(keys)];
  const horses = new Set(listed.map(horseOfKey));
  const list = (texts: Iterable<string>): string => [...texts].map(literal).join(', ') || 'NULL';
  return `SELECT row_no FROM ${FOOT_ROW} WHERE kept_key IN (${list(listed)})
    UNION ALL SELECT row_no FROM ${FOOT_ROW}
    WHERE kept_key IS NULL AND horse_id IN (${list(horses)}) AND ${ROW_IDENTITY} IN (${list(listed)})`;
}
