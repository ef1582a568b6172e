import { CYCLE_ROW, FOOT_ROW, HERD } from './herd-names.ts';

/** A column that the user has added. */
export interface DerivedStep {
  readonly name: string;
  /** One SQL expression, checked. */
  readonly expression: string;
  readonly type: 'DOUBLE' | 'VARCHAR' | 'DATE' | 'BOOLEAN';
}

/** In order: a column may use those before it, and one of a cycle those of the visit that it begins with. */
export type DerivedSteps = Readonly<Record<'foot_visit' | 'trim_cycle', readonly DerivedStep[]>>;

/** Where a derived column is kept, and the view in which it is read. */
const KEPT = { foot_visit: FOOT_ROW, trim_cycle: CYCLE_ROW } as const;

/**
 * Takes away the derived columns that were there (by name) and makes room for others, all blank; the columns of a visit
 * stand in the cycle that begins with it as well. The views over the tables are to be made anew.
 */
export function replaceDerivedSql(
  was: Readonly<Record<keyof DerivedSteps, readonly string[]>>,
  { foot_visit, trim_cycle }: DerivedSteps,
): string[] {
  return [
    ...replaceColumns(KEPT.foot_visit, was.foot_visit, foot_visit),
    ...replaceColumns(
      KEPT.trim_cycle,
      [...was.foot_visit, ...was.trim_cycle],
      [...foot_visit, ...trim_cycle],
    ),
  ];
}

/** Works the derived columns of visits out, of some rows only where `where` says so. */
export function fillVisitsSql({ foot_visit }: DerivedSteps, where = 'TRUE'): string[] {
  const plain = `SELECT ${allBut(namesOf(foot_visit))} FROM ${HERD}.foot_visit_all WHERE ${where}`;
  return fillColumns(KEPT.foot_visit, foot_visit, withSteps(plain, foot_visit));
}

/** The same of trim cycles, which take those of visits over from the visit that they begin with. */
export function fillCyclesSql({ foot_visit, trim_cycle }: DerivedSteps, where = 'TRUE'): string[] {
  const both = [...foot_visit, ...trim_cycle];
  const begun = `SELECT c.*${listed('v', foot_visit)} FROM (SELECT ${allBut(namesOf(both))} FROM ${HERD}.trim_cycle_all WHERE ${where}) c
    LEFT JOIN ${FOOT_ROW} v ON v.row_no = c.row_no`;
  return fillColumns(KEPT.trim_cycle, both, withSteps(begun, trim_cycle));
}

const namesOf = (steps: readonly DerivedStep[]): string[] => steps.map(({ name }) => name);
const listed = (of: string, steps: readonly DerivedStep[]): string =>
  steps.map(({ name }) => `, ${of}."${name}"`).join('');

function replaceColumns(table: string, was: readonly string[], steps: readonly DerivedStep[]): string[] {
  return [
    ...was.map((name) => `ALTER TABLE ${table} DROP COLUMN "${name}"`),
    ...steps.map(({ name, type }) => `ALTER TABLE ${table} ADD COLUMN "${name}" ${type}`),
  ];
}

/** Only the new columns are written: a copy of the whole table would take many times as long. */
function fillColumns(table: string, steps: readonly DerivedStep[], from: string): string[] {
  if (steps.length === 0) return [];
  const sets = steps.map(({ name }) => `"${name}" = d."${name}"`).join(', ');
  return [
    `UPDATE ${table} SET ${sets} FROM (SELECT row_no${listed('s', steps)} FROM (${from}) s) d
     WHERE d.row_no = ${table.split('.').at(-1)}.row_no`,
  ];
}

/** Every column but these. */
export function allBut(names: readonly string[]): string {
  return names.length === 0 ? '*' : `* EXCLUDE (${names.map((name) => `"${name}"`).join(', ')})`;
}

/** A SELECT with derived columns added to it, one around the other. */
export function withSteps(from: string, steps: readonly DerivedStep[]): string {
  return steps.reduce((inner, { name, expression, type }) => {
    const column = `"${name}"`;
    const step = `SELECT *, ((${expression}\n))::${type} AS ${column} FROM (${inner})`;
    // A division by zero is no number.
    return type === 'DOUBLE'
      ? `SELECT * REPLACE (CASE WHEN isfinite(${column}) THEN ${column} END AS ${column}) FROM (${step})`
      : step;
  }, from);
}
