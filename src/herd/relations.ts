import { sqlLexemes } from '../core/sql-lexemes.ts';
import { type DerivedSteps, fillCyclesSql, fillVisitsSql } from './derived-steps.ts';
import { FOOT_END, type RelationOptions } from './foot-visit-sql.ts';
import { CYCLE_ROW, FOOT_ROW, HERD } from './herd-names.ts';
import { quotedText } from './kept-types.ts';
import { rebuildCyclesSql } from './trim-cycle-sql.ts';
import { FEET } from './vocabularies.ts';

const NO_STEPS: DerivedSteps = { foot_visit: [], trim_cycle: [] };

/** Feet in the order of the vocabulary, not of the alphabet. */
export function footOrder(column: string): string {
  return `CASE ${column} ${FEET.map((foot, k) => `WHEN '${foot}' THEN ${k}`).join(' ')} END`;
}

/**
 * Works out anew what follows from the rows of some horses only: nothing in it reaches from one horse to another.
 * `horses` is a list of SQL literals; left out, the whole herd.
 */
export function rebuildSql(horses: string | null, options: RelationOptions): string[] {
  const where = horses === null ? 'TRUE' : `horse_id IN (${horses})`;
  const derived = options.derived ?? NO_STEPS;
  return [
    ...fillVisitsSql(derived, where),
    ...rebuildCyclesSql(options, where),
    ...fillCyclesSql(derived, where),
  ];
}

/** Whether a row is one of the cohort's, told by some of its columns. */
const HOLDS = 'cohort_holds';

/** Columns that a plain condition may name: both relations have them. */
const TOLD_BY = [
  'horse_id',
  'client_id',
  'practitioner_id',
  'breed_type',
  'terrain',
  'foot',
  'foot_end',
  'visit_date',
] as const;

/** Words of a plain condition beside names of columns. */
const PLAIN_WORDS: ReadonlySet<string> = new Set('and or not in is null true false between date'.split(' '));

/** Whether a condition only compares these columns with constants: no query within it, no call, no comment. */
export function isPlainCondition(where: string): boolean {
  let depth = 0;
  let before = '';
  for (const { type, start, end, closed } of sqlLexemes(where)) {
    const text = where.slice(start, end).toLowerCase();
    if (!closed || type === 'comment' || type === 'choice') return false;
    if (type === 'word' && !PLAIN_WORDS.has(text) && !isToldBy(text)) return false;
    if (type === 'quoted' && !isToldBy(text.slice(1, -1))) return false;
    if (type === 'sign' && !'()<>=,'.includes(text)) return false;
    if (text === '(' && isToldBy(before.replaceAll('"', ''))) return false;
    if (text === '(') depth += 1;
    if (text === ')') depth -= 1;
    if (depth < 0) return false;
    if (type !== 'space') before = text;
  }
  return depth === 0 && before !== '';
}

const isToldBy = (name: string): boolean => (TOLD_BY as readonly string[]).includes(name);

/**
 * The cohort: what every entry of a page looks at. `where` is an SQL condition over columns both relations have.
 * `cohort_visit` and `cohort_cycle` are the same with the numbers of row and foot, for who takes them out by column.
 * A plain condition stands apart from these views, which then need not be made anew for the next one.
 */
export function cohortSql(where: string): string[] {
  const isPlain = isPlainCondition(where);
  const condition = isPlain ? `${HOLDS}(${TOLD_BY.join(', ')})` : `(${where}\n)`;
  const view = (name: string, columns: string, of: string): string =>
    `CREATE OR REPLACE VIEW ${name} AS SELECT ${columns} FROM ${HERD}.${of} WHERE ${condition}`;
  return [
    ...(isPlain ? [holdsSql(where)] : []),
    view('foot_visit', '* EXCLUDE (row_no)', 'foot_visit_all'),
    view('trim_cycle', '* EXCLUDE (row_no, foot_no)', 'trim_cycle_all'),
    view('cohort_cycle', '*', 'trim_cycle_all'),
    view('cohort_visit', '*', 'foot_visit_all'),
    ...numbersSql(where, isPlain),
    ...(isPlain ? [] : [`DROP MACRO IF EXISTS ${HOLDS}`]),
    keptSql(where),
  ];
}

/** Numbers of the cohort's rows alone, past views whose 46 columns the engine would read to give them. */
function numbersSql(where: string, isPlain: boolean): string[] {
  const asText = (name: string): string => (name === 'visit_date' ? name : `${name}::VARCHAR`);
  const view = (name: string, of: string, all: string, end: string): string => {
    const told = TOLD_BY.map((each) => (each === 'foot_end' ? end : asText(each))).join(', ');
    const rows = isPlain ? `${of} WHERE ${HOLDS}(${told})` : `${HERD}.${all} WHERE (${where}\n)`;
    return `CREATE OR REPLACE VIEW ${name} AS SELECT row_no FROM ${rows}`;
  };
  return [
    view('cohort_cycle_no', CYCLE_ROW, 'trim_cycle_all', asText('foot_end')),
    view('cohort_visit_no', FOOT_ROW, 'foot_visit_all', FOOT_END),
  ];
}

/**
 * Another plain condition for the views that stand: the engine reads their 46 columns anew for each that it makes, which
 * takes ten times as long. The first statement fails where the condition that stands is no plain one, the second where
 * this one compares a column with what is no value of its kind.
 */
export function nextCohortSql(where: string): string[] {
  const typed = TOLD_BY.map((name) => `NULL::${name === 'visit_date' ? 'DATE' : 'VARCHAR'} AS ${name}`);
  return [
    `SELECT ${HOLDS}(${TOLD_BY.map(() => 'NULL').join(', ')})`,
    `SELECT 1 FROM (SELECT ${typed.join(', ')}) WHERE (${where}\n)`,
    holdsSql(where),
    keptSql(where),
  ];
}

const holdsSql = (where: string): string =>
  `CREATE OR REPLACE MACRO ${HOLDS}(${TOLD_BY.join(', ')}) AS (${where}\n)`;

const keptSql = (where: string): string =>
  `CREATE OR REPLACE TABLE cohort_condition AS SELECT ${quotedText(where)} AS condition`;
