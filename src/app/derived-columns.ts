import { texts } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { allBut, type DerivedStep, type DerivedSteps, withSteps } from '../herd/derived-steps.ts';
import { HERD, HERD_CATALOG } from '../herd/herd-names.ts';
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
const TRIED_ROWS = 2_000;

/** Whether a column can be, beside the others; null where it can. */
export async function checkDerived(
  engine: Engine,
  column: DerivedColumn,
  others: readonly DerivedColumn[],
  steps: DerivedSteps,
): Promise<ExpressionFault | null> {
  const rest = others.filter(({ name }) => name !== column.name);
  const named = await checkName(engine, column.name, rest, steps);
  if (named) return named;
  const form = expressionFault(column.expression);
  if (form) return form;
  try {
    inOrder([...rest, column]);
  } catch (error) {
    return { message: (error as Error).message, offset: null };
  }
  const here = [...steps.foot_visit, ...(column.on === 'trim_cycle' ? steps.trim_cycle : [])];
  const gone = restingOn(column.name, others);
  const from = `SELECT ${allBut(here.map(({ name }) => name).filter((name) => gone.has(name)))} FROM ${tried(column.on)}`;
  const found = await bind(engine, column, from);
  return 'type' in found ? null : found;
}

const tried = (on: DerivedColumn['on']): string => `(SELECT * FROM ${HERD}.${on}_all LIMIT ${TRIED_ROWS})`;

/**
 * The steps of a whole set of derived columns in place of those there, each tried on some rows. Throws a sentence that
 * names the first that cannot be.
 */
export async function derivedSteps(
  engine: Engine,
  columns: readonly DerivedColumn[],
  was: DerivedSteps,
): Promise<DerivedSteps> {
  let steps = NO_STEPS;
  const ordered = inOrder(columns);
  const names = (on: DerivedColumn['on']): string[] => was[on].map(({ name }) => name);
  for (const on of ['foot_visit', 'trim_cycle'] as const) {
    for (const column of ordered.filter((one) => one.on === on)) {
      const others = columns.filter((one) => one !== column);
      const visits = `SELECT ${allBut(names('foot_visit'))} FROM ${tried('foot_visit')}`;
      const fresh = steps.foot_visit.map(({ name }) => `, v."${name}"`).join('');
      const cycles = `SELECT ${allBut([...names('foot_visit'), ...names('trim_cycle')])} FROM ${tried('trim_cycle')}`;
      const from =
        on === 'foot_visit'
          ? withSteps(visits, steps.foot_visit)
          : withSteps(
              `SELECT c.*${fresh} FROM (${cycles}) c LEFT JOIN (${withSteps(visits, steps.foot_visit)}) v ON v.row_no = c.row_no`,
              steps.trim_cycle,
            );
      const fault =
        (await checkName(engine, column.name, others, was)) ??
        expressionFault(column.expression) ??
        (await bind(engine, column, from));
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
  steps: DerivedSteps,
): Promise<ExpressionFault | null> {
  const table = await engine.query(
    `SELECT DISTINCT column_name AS name FROM duckdb_columns()
     WHERE database_name = '${HERD_CATALOG}' AND table_name IN ('foot_visit_all', 'trim_cycle_all') ORDER BY 1`,
  );
  const derived = new Set([...steps.foot_visit, ...steps.trim_cycle].map((step) => step.name));
  const own = texts(table, 'name').map(String);
  const taken = new Set([...own.filter((one) => !derived.has(one)), ...others.map((one) => one.name)]);
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

/** This column and those that use it, directly or through others. */
function restingOn(name: string, columns: readonly DerivedColumn[]): Set<string> {
  const resting = new Set([name]);
  for (let size = 0; size !== resting.size; ) {
    size = resting.size;
    for (const { name: other, expression } of columns) {
      if ([...usedNames(expression)].some((used) => resting.has(used))) resting.add(other);
    }
  }
  return resting;
}

/** The type of a column over these rows, once it has been worked out for each of them. */
async function bind(
  engine: Engine,
  { name, expression }: DerivedColumn,
  rows: string,
): Promise<{ readonly type: DerivedStep['type'] } | ExpressionFault> {
  // The expression begins on the second line of each statement.
  const select = `SELECT *, (\n${expression}\n) AS "${name}" FROM (${rows})`;
  try {
    await engine.check(select);
    const described = await engine.query(`DESCRIBE SELECT "${name}" FROM (${select})`);
    const type = stepType(texts(described, 'column_type')[0] ?? '');
    if ('message' in type) return type;
    await engine.query(`SELECT count("${name}") AS n FROM (${select})`);
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
