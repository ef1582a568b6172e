import { texts } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import {
  type DerivedStep,
  type DerivedSteps,
  HERD,
  wholeHerdSql,
  wholeSelect,
  withSteps,
} from '../herd/relations.ts';
import {
  type DerivedColumn,
  type ExpressionFault,
  engineFault,
  expressionFault,
  inOrder,
  nameFault,
  usedNames,
} from '../sheet/derived-column.ts';

export const NO_STEPS: DerivedSteps = { foot_visit: [], trim_cycle: [] };

/** Rows that a column is tried on as it is typed. */
const TRIED_ROWS = 500;

/** Whether a column can be, beside the others; null where it can. */
export async function checkDerived(
  engine: Engine,
  column: DerivedColumn,
  others: readonly DerivedColumn[],
  steps: DerivedSteps,
): Promise<ExpressionFault | null> {
  const rest = others.filter(({ name }) => name !== column.name);
  const named = await checkName(engine, column.name, rest);
  if (named) return named;
  const form = expressionFault(column.expression);
  if (form) return form;
  try {
    inOrder([...rest, column]);
  } catch (error) {
    return { message: (error as Error).message, offset: null };
  }
  const resting = restingOn(column.name, rest);
  const without = (kept: readonly DerivedStep[]): DerivedStep[] =>
    kept.filter(({ name }) => name !== column.name && !resting.has(name));
  const found = await bind(
    engine,
    column,
    { foot_visit: without(steps.foot_visit), trim_cycle: without(steps.trim_cycle) },
    TRIED_ROWS,
  );
  return 'type' in found ? null : found;
}

/**
 * The steps of a whole set of derived columns, each tried on every row. Throws a sentence that names the first that
 * cannot be.
 */
export async function derivedSteps(engine: Engine, columns: readonly DerivedColumn[]): Promise<DerivedSteps> {
  let steps = NO_STEPS;
  const ordered = inOrder(columns);
  for (const on of ['foot_visit', 'trim_cycle'] as const) {
    for (const column of ordered.filter((one) => one.on === on)) {
      const others = columns.filter((one) => one !== column);
      const fault =
        (await checkName(engine, column.name, others)) ??
        expressionFault(column.expression) ??
        (await bind(engine, column, steps, null));
      if ('message' in fault) throw new Error(`${column.name}: ${fault.message}`);
      const { name, expression } = column;
      steps = { ...steps, [on]: [...steps[on], { name, expression, type: fault.type }] };
    }
  }
  return steps;
}

async function checkName(
  engine: Engine,
  name: string,
  others: readonly DerivedColumn[],
): Promise<ExpressionFault | null> {
  const table = await engine.query(
    `SELECT DISTINCT column_name AS name FROM duckdb_columns()
     WHERE database_name = 'memory' AND table_name IN ('foot_visit_all', 'trim_cycle_all') ORDER BY 1`,
  );
  const taken = new Set([...texts(table, 'name').map(String), ...others.map((one) => one.name)]);
  const message = nameFault(name, taken);
  if (message !== null) return { message, offset: null };
  try {
    await engine.check(`SELECT ${name} FROM (SELECT 1 AS "${name}")`);
    return null;
  } catch {
    return {
      message: `this word means something of its own in a query; choose another name: ${name}`,
      offset: null,
    };
  }
}

/** Columns that use this one, directly or through others. */
function restingOn(name: string, columns: readonly DerivedColumn[]): Set<string> {
  const resting = new Set([name]);
  for (let size = 0; size !== resting.size; ) {
    size = resting.size;
    for (const { name: other, expression } of columns) {
      if ([...usedNames(expression)].some((used) => resting.has(used))) resting.add(other);
    }
  }
  resting.delete(name);
  return resting;
}

/** The type of a column over the herd with these steps, tried on some rows or on all. */
async function bind(
  engine: Engine,
  { name, expression, on }: DerivedColumn,
  steps: DerivedSteps,
  rows: number | null,
): Promise<{ readonly type: DerivedStep['type'] } | ExpressionFault> {
  const from = wholeSelect(on, steps).replaceAll('\n', ' ');
  // The expression begins on the second line of each.
  const select = `SELECT *, (\n${expression}\n) AS "${name}" FROM (${from})`;
  try {
    await engine.check(select);
    const described = await engine.query(`DESCRIBE SELECT "${name}" FROM (${select})`);
    const type = stepType(texts(described, 'column_type')[0] ?? '');
    if ('message' in type) return type;
    const limit = rows === null ? '' : `LIMIT ${rows}`;
    const tried = withSteps(from, [{ name, expression, type: type.type }]);
    await engine.query(`SELECT count("${name}") AS n FROM (SELECT "${name}" FROM (${tried}) ${limit})`);
    return type;
  } catch (error) {
    return engineFault((error as Error).message, expression, 2);
  }
}

function stepType(engineType: string): { readonly type: DerivedStep['type'] } | ExpressionFault {
  if (/^U?(?:TINY|SMALL|BIG|HUGE)?INT|^(?:FLOAT|DOUBLE|DECIMAL)/.test(engineType)) return { type: 'DOUBLE' };
  if (/^(?:VARCHAR|ENUM)/.test(engineType)) return { type: 'VARCHAR' };
  if (engineType === 'DATE' || engineType === 'BOOLEAN') return { type: engineType };
  const accepted = 'a number, a text, a day, or yes and no';
  if (/^TIMESTAMP/.test(engineType)) {
    return {
      message: `a column holds ${accepted}; make a day of the moment with CAST(… AS DATE)`,
      offset: null,
    };
  }
  if (engineType === 'INTERVAL') {
    return {
      message: `a column holds ${accepted}; one day minus another gives a number of days`,
      offset: null,
    };
  }
  return { message: `a column holds ${accepted}, not ${engineType.toLowerCase()}`, offset: null };
}

/** Puts a set of derived columns on the whole herd. */
export async function putSteps(engine: Engine, steps: DerivedSteps): Promise<void> {
  for (const statement of wholeHerdSql(steps)) await engine.run(statement);
}

/** Where the relations with their derived columns stand. */
export const WHOLE = {
  foot_visit: `${HERD}.foot_visit_whole`,
  trim_cycle: `${HERD}.trim_cycle_whole`,
} as const;
