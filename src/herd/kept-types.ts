import { sqlType } from './ddl.ts';
import { FOOT_VISIT } from './dictionary.ts';
import { OWN_FACTS } from './horse-facts.ts';

/**
 * The herd's tables keep a text of few levels as an enumeration: the engine takes one in, and gives it out, in a
 * fraction of the time of a text. The views over the tables call it a text, as everyone else knows it.
 */
export const enumeration = (levels: readonly string[]): string =>
  `ENUM(${levels.map((level) => `'${level.replaceAll("'", "''")}'`).join(', ')})`;

const LEVELS: ReadonlyMap<string, readonly string[]> = new Map(
  FOOT_VISIT.flatMap(({ name, levels }) => (levels ? [[name, levels] as const] : [])),
);

/** The columns of `foot_row`, in the order in which rows are handed to it, with their types. */
export const FOOT_ROW_TYPES: Readonly<Record<string, string>> = {
  ...Object.fromEntries(
    FOOT_VISIT.map(({ name, kind, levels }) => [name, levels ? enumeration(levels) : sqlType(kind)]),
  ),
  source_file: 'VARCHAR',
  source_line: 'INTEGER',
  row_no: 'INTEGER',
  [OWN_FACTS]: 'INTEGER',
  kept_key: 'VARCHAR',
};

/** For a `REPLACE`: kept levels as the texts that they stand for. */
export const asTexts = (names: Iterable<string>): string =>
  [...names].map((name) => `${name}::VARCHAR AS ${name}`).join(', ');

/** The levels that `foot_row` keeps. */
export const FOOT_LEVELS: readonly string[] = [...LEVELS.keys()];
