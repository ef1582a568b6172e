import { join } from 'node:path';
import type { DuckDBConnection } from '@duckdb/node-api';
import { rowsOf } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import type { ColumnDescription } from '../../src/herd/column.ts';
import { sqlType } from '../../src/herd/ddl.ts';
import { FOOT_VISIT, HORSE_COLUMNS } from '../../src/herd/dictionary.ts';
import { footOrder, footVisitSql, spellSql, trimCycleSql } from '../../src/herd/relations.ts';
import { nativeRead } from './intake.ts';
import { inTurn, type Times } from './measure.ts';

export interface Pair {
  readonly what: string;
  readonly ours: Times;
  readonly native: Times;
}

/** The tables that relations are made from, in native DuckDB as in the engine. */
export async function nativeTables(engine: Engine, native: DuckDBConnection, folder: string): Promise<void> {
  const missing = (columns: readonly ColumnDescription[], there: ReadonlySet<string>): string =>
    columns
      .filter(({ name }) => !there.has(name))
      .map(({ name, kind }) => `, NULL::${sqlType(kind)} AS ${name}`)
      .join('');
  const columnsOf = async (relation: string): Promise<Set<string>> => {
    const reader = await native.runAndReadAll(`DESCRIBE ${relation}`);
    return new Set(reader.getRows().map(([name]) => String(name)));
  };
  await nativeRead(native, folder, 'parquet');
  await native.run(
    `CREATE OR REPLACE TABLE horse_row AS SELECT * FROM read_parquet('${join(folder, 'horses.parquet')}')`,
  );
  const horses = await columnsOf('horse_row');
  await native.run(
    `CREATE OR REPLACE TABLE horse_row AS SELECT *${missing(HORSE_COLUMNS, horses)} FROM horse_row`,
  );
  const visits = await columnsOf('visit');
  await native.run(`CREATE OR REPLACE TABLE visit_row AS
    SELECT *${missing(FOOT_VISIT, visits)}, 'visits.parquet' AS source_file, 0 AS source_line,
      horse_id || '|' || visit_date::VARCHAR || '|' || foot AS row_key,
      (row_number() OVER (ORDER BY horse_id, visit_date, ${footOrder('foot')}))::INTEGER AS row_no
    FROM visit ORDER BY row_no`);
  const breeds = rowsOf(await engine.query('SELECT breed, breed_type FROM memory.main.breed_map ORDER BY 1'));
  const text = (value: unknown): string =>
    value === null ? 'NULL' : `'${String(value).replaceAll("'", "''")}'`;
  await native.run(
    `CREATE OR REPLACE TABLE breed_map AS SELECT * FROM (VALUES ${breeds
      .map(({ breed, breed_type }) => `(${text(breed)}, ${text(breed_type)}::VARCHAR)`)
      .join(', ')}) m(breed, breed_type)`,
  );
}

const COHORT = 'CREATE OR REPLACE VIEW foot_visit AS SELECT * EXCLUDE (row_no) FROM foot_visit_all';

/** The relations' own SQL in the browser's engine and in native DuckDB, over the same rows. */
export async function relationPairs(engine: Engine, native: DuckDBConnection): Promise<Pair[]> {
  const options = { hemisphere: 'north' } as const;
  const jobs: readonly (readonly [string, string])[] = [
    ['`foot_visit`', footVisitSql(options)],
    ['`trim_cycle`', trimCycleSql(options)],
    [
      'spells of all problems',
      spellSql([]).replace(/^CREATE OR REPLACE VIEW spell AS/, 'CREATE OR REPLACE TABLE bench_spell AS'),
    ],
  ];
  const pairs: Pair[] = [];
  for (const [what, sql] of jobs) {
    const { ours, native: theirs } = await inTurn({
      ours: () => engine.run(sql),
      native: () => native.run(sql),
    });
    pairs.push({ what, ours, native: theirs });
    if (what === '`foot_visit`') await native.run(COHORT);
  }
  return pairs;
}
