import { type CivilDay, isoFromDay } from '../core/civil-day.ts';
import type { Table } from '../core/table.ts';
import { makeTable, numbers, rowsOf, textColumn, texts } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { literal, quoteName } from '../engine/sql-text.ts';
import { breedTypeOf } from '../herd/breed-table.ts';
import { ORIGIN_COLUMNS, sqlType } from '../herd/ddl.ts';
import { FOOT_VISIT, HORSE_COLUMNS } from '../herd/dictionary.ts';
import { cohortSql, footVisitSql, type RelationOptions, trimCycleSql } from '../herd/relations.ts';

export interface HerdTables {
  /** Admitted foot rows, columns of the data dictionary (those the files had) and their origin. */
  readonly visits: Table;
  readonly horses: Table;
}

export interface HerdCounts {
  readonly horses: number;
  readonly feet: number;
  readonly visits: number;
  readonly footVisits: number;
  readonly cycles: number;
  readonly flaggedCycles: number;
  /** Days; NaN where the cohort is empty. */
  readonly firstDay: number;
  readonly lastDay: number;
}

/** Writes the admitted rows and builds `foot_visit` and `trim_cycle` over them, for the whole herd as cohort. */
export async function loadHerd(engine: Engine, herd: HerdTables, options: RelationOptions): Promise<void> {
  await writeRows(engine, 'visit_row', herd.visits, FOOT_VISIT);
  await writeRows(engine, 'horse_row', herd.horses, HORSE_COLUMNS);
  await engine.write('breed_map', breedMap(herd));
  await engine.run(footVisitSql(options));
  await engine.run(trimCycleSql(options));
  await setCohort(engine, 'TRUE');
}

/** Every breed as written, with the type the breed table gives it; blank where it knows none. */
function breedMap({ visits, horses }: HerdTables): Table {
  const written = new Set<string>();
  for (const { columns } of [visits, horses]) {
    if (columns.breed?.type !== 'text') continue;
    for (const breed of columns.breed.values) if (breed !== null) written.add(breed);
  }
  const breeds = [...written];
  return makeTable({ breed: textColumn(breeds), breed_type: textColumn(breeds.map(breedTypeOf)) });
}

/** A table with every column of the dictionary, those the files lacked all missing. */
async function writeRows(
  engine: Engine,
  name: string,
  rows: Table,
  described: readonly { readonly name: string; readonly kind: (typeof FOOT_VISIT)[number]['kind'] }[],
): Promise<void> {
  await engine.write('incoming', rows);
  const columns = described.map(({ name: column, kind }) => {
    const source = column in rows.columns ? quoteName(column) : 'NULL';
    return `${source}::${sqlType(kind)} AS ${quoteName(column)}`;
  });
  const origin = ORIGIN_COLUMNS.map((column) =>
    column in rows.columns
      ? column
      : `NULL::${column === 'source_line' ? 'INTEGER' : 'VARCHAR'} AS ${column}`,
  );
  await engine.run(
    `CREATE OR REPLACE TABLE ${name} AS SELECT ${[...columns, ...origin].join(', ')} FROM incoming`,
  );
  await engine.run('DROP TABLE incoming');
}

/** Looks at the rows for which `where` holds. Throws with the engine's message if it is no condition over them. */
export async function setCohort(engine: Engine, where: string): Promise<void> {
  // A comment or a second statement in the condition would change the view's meaning: the engine parses it alone first.
  for (const relation of ['foot_visit_all', 'trim_cycle_all']) {
    await engine.check(`SELECT 1 FROM ${relation} WHERE (${where}\n)`);
  }
  for (const statement of cohortSql(`(${where}\n)`)) await engine.run(statement);
}

/** Records older than this are looked back on from their last visit, not from today. */
const STALE_DAYS = 90;

/**
 * The day that pages count from, kept as the relation `today` (`day`): today, or the last visit where the record ends
 * long before it.
 */
export async function setToday(engine: Engine, today: CivilDay): Promise<CivilDay> {
  const last = numbers(await engine.query('SELECT max(visit_date) AS day FROM foot_visit_all'), 'day')[0];
  const day = last !== undefined && last < today - STALE_DAYS ? (last as CivilDay) : today;
  await engine.run(`CREATE OR REPLACE TABLE today AS SELECT DATE ${literal(isoFromDay(day))} AS day`);
  return day;
}

/** What the cohort holds. */
export async function countHerd(engine: Engine): Promise<HerdCounts> {
  const table = await engine.query(`
    SELECT count(DISTINCT horse_id) AS horses, count(DISTINCT foot_key) AS feet,
      count(DISTINCT (horse_id, visit_date)) AS visits, count(*) AS foot_visits,
      min(visit_date) AS first_day, max(visit_date) AS last_day,
      (SELECT count(*) FROM trim_cycle) AS cycles,
      (SELECT count(*) FROM trim_cycle WHERE flag IS NOT NULL) AS flagged
    FROM foot_visit`);
  const at = (name: string): number => numbers(table, name)[0] ?? Number.NaN;
  return {
    horses: at('horses'),
    feet: at('feet'),
    visits: at('visits'),
    footVisits: at('foot_visits'),
    cycles: at('cycles'),
    flaggedCycles: at('flagged'),
    firstDay: at('first_day'),
    lastDay: at('last_day'),
  };
}

/** Distinct values of a column of the whole herd with how many horses bear each, for choosing a cohort. */
export async function levelsOf(engine: Engine, column: string): Promise<{ value: string; horses: number }[]> {
  const name = quoteName(column);
  const table = await engine.query(`
    SELECT ${name}::VARCHAR AS value, count(DISTINCT horse_id) AS horses
    FROM foot_visit_all WHERE ${name} IS NOT NULL GROUP BY 1 ORDER BY 1`);
  const values = texts(table, 'value');
  return rowsOf(table).map((row, i) => ({ value: values[i] ?? '', horses: Number(row.horses) }));
}
