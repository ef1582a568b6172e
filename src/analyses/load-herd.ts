import { type CivilDay, isoFromDay } from '../core/civil-day.ts';
import type { Table } from '../core/table.ts';
import { makeTable, numbers, rowsOf, textColumn, texts } from '../core/table.ts';
import { piecesOf, reorder, type TablePieces } from '../core/table-pieces.ts';
import type { Engine } from '../engine/engine.ts';
import { literal, quoteName } from '../engine/sql-text.ts';
import { breedTypeOf } from '../herd/breed-table.ts';
import { ORIGIN_COLUMNS, sqlType } from '../herd/ddl.ts';
import { type DerivedSteps, fillCyclesSql, fillVisitsSql, replaceDerivedSql } from '../herd/derived-steps.ts';
import { HORSE_COLUMNS } from '../herd/dictionary.ts';
import { footRows } from '../herd/foot-rows.ts';
import { footVisitSql, type RelationOptions } from '../herd/foot-visit-sql.ts';
import { FOOT_ROW, HERD, HERD_CATALOG } from '../herd/herd-names.ts';
import { herdOrder, isInOrder } from '../herd/row-order.ts';
import { spellSql } from '../herd/spell-sql.ts';
import { cycleViewSql } from '../herd/trim-cycle-sql.ts';
import { FEET } from '../herd/vocabularies.ts';
import { fillFootRow } from './few-values.ts';
import { compressing, cyclesSql, uncompressedRows } from './large-herd.ts';
import { layCohortViews } from './set-cohort.ts';

export interface HerdTables {
  /**
   * Admitted foot rows, columns of the data dictionary (those the files had) and their origin; in pieces, they come by
   * horse, day and foot.
   */
  readonly visits: Table | TablePieces;
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

/** Goes to the herd's own tables, making the place where they stand if there is none. */
export async function useHerd(engine: Engine): Promise<void> {
  await engine.run(`ATTACH IF NOT EXISTS ':memory:' AS ${HERD_CATALOG} (COMPRESS);\nUSE ${HERD}`);
}

let loadings = 0;

/**
 * Writes the admitted rows and builds `foot_visit` and `trim_cycle` over them, for the whole herd as cohort and without
 * derived columns. `herd_loading` says which loading this is and how. `onStep` is told what comes next.
 */
export async function loadHerd(
  engine: Engine,
  herd: HerdTables,
  options: RelationOptions,
  onStep: (step: 'rows' | 'relations') => void = () => undefined,
): Promise<void> {
  await load(engine, [herd], options, onStep, herd.visits.rowCount);
}

/**
 * The same of a herd that comes in parts, each let go of before the next is asked for; no horse has rows in two of them.
 */
export async function loadHerdInParts(
  engine: Engine,
  parts: Iterable<HerdTables> | AsyncIterable<HerdTables>,
  options: RelationOptions,
  onStep: (step: 'rows' | 'relations') => void = () => undefined,
): Promise<void> {
  await load(engine, parts, options, onStep, null);
}

/** `rowsOfOne`: how many rows a herd of one part has. */
async function load(
  engine: Engine,
  parts: Iterable<HerdTables> | AsyncIterable<HerdTables>,
  options: RelationOptions,
  onStep: (step: 'rows' | 'relations') => void,
  rowsOfOne: number | null,
): Promise<void> {
  onStep('rows');
  await useHerd(engine);
  // How many rows come in several parts is not known yet; most come to an engine that keeps them on disk.
  const rowsAtOnce = uncompressedRows(rowsOfOne ?? 0);
  const compressed = compressing(engine, rowsAtOnce);
  let isFirst = true;
  let rowCount = 0;
  for await (const { visits, horses } of parts) {
    const rows = compressed(footRows(inOrder(visits), horses, rowCount + 1));
    if (isFirst) await fillFootRow(engine, rows, rowsOfOne !== null);
    else for await (const piece of rows) await engine.append(FOOT_ROW, piece);
    await writeHorses(engine, horses, isFirst ? 'new' : 'more');
    rowCount += visits.rowCount;
    isFirst = false;
  }
  await engine.write(`${HERD}.breed_map`, await breedMap(engine));
  onStep('relations');
  const cycles = await cyclesSql(engine, options, rowCount, { rowsAtOnce });
  for (const sql of [...footVisitSql(options), ...cycles]) await engine.run(sql);
  loadings += 1;
  await engine.run(
    `CREATE OR REPLACE TABLE ${HERD}.herd_loading AS SELECT ${loadings} AS number, ${literal(options.hemisphere)} AS hemisphere`,
  );
  await engine.run(derivedTableSql({ foot_visit: [], trim_cycle: [] }));
  await layCohort(engine, 'TRUE');
}

function inOrder(visits: Table | TablePieces): TablePieces {
  if ('piece' in visits) return visits;
  return piecesOf(isInOrder(visits) ? visits : reorder(visits, herdOrder(visits)));
}

/**
 * Puts derived columns, all checked, in the herd's tables in place of those there; the cohort is to be laid anew after
 * it. Throws the engine's message where one fails on some row: then all stays as it was.
 */
export async function setDerived(engine: Engine, derived: DerivedSteps): Promise<void> {
  const was = {
    foot_visit: await derivedNames(engine, 'foot_visit'),
    trim_cycle: await derivedNames(engine, 'trim_cycle'),
  };
  const { hemisphere } = await loadingOf(engine);
  const statements = [
    ...replaceDerivedSql(was, derived),
    ...footVisitSql({ hemisphere }),
    ...fillVisitsSql(derived),
    cycleViewSql(),
    ...fillCyclesSql(derived),
    derivedTableSql(derived),
  ];
  try {
    await engine.run(['BEGIN TRANSACTION', ...statements, 'COMMIT'].join(';\n'));
  } catch (error) {
    await engine.run('ROLLBACK').catch(() => undefined);
    throw error;
  }
}

function derivedTableSql(derived: DerivedSteps): string {
  const rows = (['foot_visit', 'trim_cycle'] as const).flatMap((relation) =>
    derived[relation].map(({ name }, k) => `(${k}, ${literal(relation)}, ${literal(name)})`),
  );
  // A row that no relation has stands for none at all.
  return `CREATE OR REPLACE TABLE ${HERD}.derived_column AS
    SELECT * FROM (VALUES ${["(0, '', '')", ...rows].join(', ')}) named(number, relation, name)`;
}

/** Derived columns of a relation as they stand in the herd's tables, in order. */
async function derivedNames(engine: Engine, relation: keyof DerivedSteps): Promise<string[]> {
  const table = await engine.query(
    `SELECT name FROM ${HERD}.derived_column WHERE relation = ${literal(relation)} ORDER BY number`,
  );
  return texts(table, 'name').map(String);
}

/** Every breed as written, with the type the breed table gives it; blank where it knows none. */
async function breedMap(engine: Engine): Promise<Table> {
  const written = await engine.query(
    `SELECT DISTINCT breed::VARCHAR AS breed FROM ${FOOT_ROW} WHERE breed IS NOT NULL
     UNION SELECT breed FROM ${HERD}.horse_row WHERE breed IS NOT NULL ORDER BY 1`,
  );
  const breeds = texts(written, 'breed').map(String);
  return makeTable({ breed: textColumn(breeds), breed_type: textColumn(breeds.map(breedTypeOf)) });
}

/** The horses file with every column of the dictionary that it may have, those it lacked all missing. */
async function writeHorses(engine: Engine, horses: Table, into: 'new' | 'more'): Promise<void> {
  await engine.write('incoming', horses);
  const columns = HORSE_COLUMNS.map(({ name, kind }) => {
    const source = name in horses.columns ? quoteName(name) : 'NULL';
    return `${source}::${sqlType(kind)} AS ${quoteName(name)}`;
  });
  const origin = ORIGIN_COLUMNS.map((column) =>
    column in horses.columns
      ? column
      : `NULL::${column === 'source_line' ? 'INTEGER' : 'VARCHAR'} AS ${column}`,
  );
  const table = `${HERD}.horse_row`;
  const start = into === 'new' ? `CREATE OR REPLACE TABLE ${table} AS` : `INSERT INTO ${table} BY NAME`;
  await engine.run(`${start} SELECT ${[...columns, ...origin].join(', ')} FROM incoming`);
  await engine.run('DROP TABLE incoming');
}

/**
 * Sets the cohort where its relations are not there yet or have other columns than before. The spells stand on the
 * visits of whatever cohort is set later: they take as long to lay as all else together.
 */
export async function layCohort(engine: Engine, where: string): Promise<void> {
  await layCohortViews(engine, where);
  await engine.run(spellSql(await derivedNames(engine, 'foot_visit')));
}

/** The condition of the cohort that the herd's own relations show. */
export async function cohortCondition(engine: Engine): Promise<string> {
  const table = await engine.query(`SELECT condition FROM ${HERD}.cohort_condition`);
  return texts(table, 'condition')[0] ?? 'TRUE';
}

/** Records older than this are looked back on from their last visit, not from today. */
const STALE_DAYS = 90;

/**
 * The day that pages count from, kept as the relation `today` (`day`): today, or the last visit where the record ends
 * long before it.
 */
export async function setToday(engine: Engine, today: CivilDay): Promise<CivilDay> {
  const day = await recordDay(engine, today);
  await engine.run(`CREATE OR REPLACE TABLE ${HERD}.today AS SELECT DATE ${literal(isoFromDay(day))} AS day`);
  return day;
}

/** The same day, for analyses, which are given today. */
export async function recordDay(engine: Engine, today: CivilDay): Promise<CivilDay> {
  const last = numbers(
    await engine.query(`SELECT max(visit_date) AS day FROM ${HERD}.foot_visit_all`),
    'day',
  )[0];
  return last !== undefined && last < today - STALE_DAYS ? (last as CivilDay) : today;
}

/**
 * What the cohort holds; of some horses only where `horses`, a list of SQL literals, names them. `schema` is where the
 * cohort's relations stand; the current one if left out.
 */
export async function countHerd(
  engine: Engine,
  { horses, schema }: { readonly horses?: string; readonly schema?: string } = {},
): Promise<HerdCounts> {
  const of = schema === undefined ? '' : `${schema}.`;
  const among = horses === undefined ? 'TRUE' : `horse_id IN (${horses})`;
  // Each level is grouped from the one below it, not counted as distinct: that is many times as fast.
  const table = await engine.query(`
    WITH on_day AS (
      SELECT horse_id, visit_date, count(*) AS n,
        bit_or(CASE foot ${FEET.map((foot, bit) => `WHEN '${foot}' THEN ${1 << bit}`).join(' ')} END) AS feet
      FROM ${of}foot_visit WHERE ${among} GROUP BY horse_id, visit_date
    ), of_horse AS (
      SELECT bit_count(bit_or(feet)) AS feet, count(*) AS visits, sum(n) AS n,
        min(visit_date) AS first_day, max(visit_date) AS last_day
      FROM on_day GROUP BY horse_id
    ), of_cycles AS (SELECT count(*) AS cycles, count(flag) AS flagged FROM ${of}trim_cycle WHERE ${among})
    SELECT count(*) AS horses, coalesce(sum(feet), 0) AS feet, coalesce(sum(visits), 0) AS visits,
      coalesce(sum(n), 0) AS foot_visits, min(first_day) AS first_day, max(last_day) AS last_day,
      (SELECT cycles FROM of_cycles) AS cycles, (SELECT flagged FROM of_cycles) AS flagged
    FROM of_horse`);
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
    FROM ${HERD}.foot_visit_all WHERE ${name} IS NOT NULL GROUP BY 1 ORDER BY 1`);
  const values = texts(table, 'value');
  return rowsOf(table).map((row, i) => ({ value: values[i] ?? '', horses: Number(row.horses) }));
}

/** How the herd was loaded, and which loading it was. Throws where no herd is loaded. */
export async function loadingOf(
  engine: Engine,
): Promise<{ readonly number: number; readonly hemisphere: 'north' | 'south' }> {
  const table = await engine.query(`SELECT number, hemisphere FROM ${HERD}.herd_loading ORDER BY number`);
  const hemisphere = texts(table, 'hemisphere')[0] === 'south' ? 'south' : 'north';
  return { number: numbers(table, 'number')[0]!, hemisphere };
}
