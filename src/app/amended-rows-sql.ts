import { literal } from '../engine/sql-text.ts';
import { breedTypeOf } from '../herd/breed-table.ts';
import { addRowsSql } from '../herd/foot-visit-sql.ts';
import { HERD } from '../herd/herd-names.ts';
import { WRITTEN_TYPES } from '../herd/kept-types.ts';
import type { RowKey, StoredValue } from '../sheet/amendment.ts';

/** The cells of one row of `foot_row` as an amendment writes them. */
export type WrittenRow = Readonly<Record<string, StoredValue>>;

const ROWS_A_STATEMENT = 2_000;

const WRITTEN = Object.entries(WRITTEN_TYPES).map(([name, type]) => ({ name, type }));

/** Statements that add rows under their names. */
export function insertSql(rows: ReadonlyMap<RowKey, WrittenRow>): string[] {
  const listed = [...rows].map(
    ([key, values]) =>
      `(${[literal(key), ...WRITTEN.map(({ name, type }) => `${literal(values[name] ?? null)}::${type}`)].join(', ')})`,
  );
  const names = ['row_key', ...WRITTEN.map(({ name }) => name)].join(', ');
  const statements: string[] = [];
  for (let from = 0; from < listed.length; from += ROWS_A_STATEMENT) {
    const part = listed.slice(from, from + ROWS_A_STATEMENT).join(',\n');
    statements.push(addRowsSql(`SELECT * FROM (VALUES ${part}) written(${names})`));
  }
  return statements;
}

/** Breeds that no file has named before get their type too. */
export function breedSql(breeds: readonly (StoredValue | undefined)[]): string[] {
  const named = [...new Set(breeds)].filter((breed): breed is string => typeof breed === 'string');
  if (named.length === 0) return [];
  const rows = named.map((breed) => `(${literal(breed)}, ${literal(breedTypeOf(breed))}::VARCHAR)`);
  return [
    `INSERT INTO ${HERD}.breed_map (breed, breed_type)
     SELECT * FROM (VALUES ${rows.join(', ')}) fresh(breed, breed_type)
     WHERE breed NOT IN (SELECT breed FROM ${HERD}.breed_map WHERE breed IS NOT NULL)`,
  ];
}
