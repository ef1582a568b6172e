import { sqlType } from './ddl.ts';
import { FOOT_VISIT } from './dictionary.ts';
import { CYCLE_ROW, FOOT_ROW, HERD } from './herd-names.ts';
import { OWN_FACTS } from './horse-facts.ts';

/** A text as SQL has it. */
export const quotedText = (value: string): string => `'${value.replaceAll("'", "''")}'`;

/**
 * The herd's tables keep a text of few different values as an enumeration: the engine takes one in, and gives it out,
 * in a fraction of the time of a text. The views over the tables call it a text, as everyone else knows it.
 */
export const enumeration = (values: readonly string[]): string =>
  `ENUM(${values.map(quotedText).join(', ')})`;

/** Columns whose values the dictionary lists. */
const LISTED = FOOT_VISIT.flatMap(({ name, levels }) => (levels ? [{ name, levels }] : []));

/** Columns that mostly have few different values: those that a herd's files brought are an enumeration of its own. */
export const FEW_VALUES = [
  'client_id',
  'practitioner_id',
  'breed',
  'sex',
  'marker_id',
  'source_file',
] as const;
export type FewValues = (typeof FEW_VALUES)[number];

/** Those that `cycle_row` has too, under these names. */
const IN_CYCLES: Readonly<Record<FewValues, readonly string[]>> = {
  client_id: ['client_id'],
  practitioner_id: ['practitioner_id'],
  breed: ['breed'],
  sex: ['sex'],
  marker_id: [],
  source_file: ['source_file', 'next_source_file'],
};

/** Values of each column that is an enumeration of its own: `name`, `value`. */
export const KEPT_VALUE = `${HERD}.kept_value`;

/** The cells of a row as they are written, with their types where nothing is an enumeration. */
export const WRITTEN_TYPES: Readonly<Record<string, string>> = {
  ...Object.fromEntries(FOOT_VISIT.map(({ name, kind }) => [name, sqlType(kind)])),
  source_file: 'VARCHAR',
  source_line: 'INTEGER',
  row_no: 'INTEGER',
};

/** The columns of `foot_row`, in the order in which rows are handed to it, with their types. */
export function footRowTypes(few: ReadonlyMap<string, readonly string[]>): Record<string, string> {
  const types: Record<string, string> = {
    ...WRITTEN_TYPES,
    [OWN_FACTS]: 'INTEGER',
    kept_key: 'VARCHAR',
  };
  for (const { name, levels } of LISTED) types[name] = enumeration(levels);
  for (const [name, values] of few) types[name] = enumeration(values);
  return types;
}

/** Makes a column text again, before it is given a value that its enumeration lacks. */
export function widenSql(name: FewValues): string[] {
  return [
    asText(FOOT_ROW, name),
    ...IN_CYCLES[name].map((column) => asText(CYCLE_ROW, column)),
    `DELETE FROM ${KEPT_VALUE} WHERE name = '${name}'`,
  ];
}

/** Makes a column of a table text again. */
export const asText = (table: string, column: string): string =>
  `ALTER TABLE ${table} ALTER COLUMN ${column} SET DATA TYPE VARCHAR`;

/** For a `REPLACE`: columns that may be enumerations as the texts that they stand for. */
export const textsOf = (names: Iterable<string>): string =>
  [...names].map((name) => `${name}::VARCHAR AS ${name}`).join(', ');

const LISTED_NAMES = LISTED.map(({ name }) => name);
/** What may be an enumeration in `foot_row`. */
export const FOOT_ENUMERATIONS: readonly string[] = [...LISTED_NAMES, ...FEW_VALUES];
/** The same of `cycle_row`, but for what is worked out there. */
export const CYCLE_ENUMERATIONS: readonly string[] = [...LISTED_NAMES, ...Object.values(IN_CYCLES).flat()];
