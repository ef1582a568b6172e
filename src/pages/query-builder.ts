import { literal, quoteName } from '../engine/sql-text.ts';
import { SHOWN } from '../herd/cycle-columns.ts';
import { FOOT_VISIT } from '../herd/dictionary.ts';
import { PROBLEMS } from '../herd/problems.ts';

export type Relation = 'foot_visit' | 'trim_cycle';
type BuilderColumn = { readonly name: string; readonly label: string; readonly numeric: boolean };

/** What a query made by clicking asks: how many, and where the middle half of a measurement lies, by groups. */
interface QueryPlan {
  readonly relation: Relation;
  /** Columns to split by, none to two. */
  readonly by: readonly string[];
  /** A measured column to sum up; null to count only. */
  readonly measure: string | null;
  readonly conditions: readonly QueryCondition[];
}

export interface QueryCondition {
  readonly column: string;
  readonly test: 'is' | 'is not' | 'at least' | 'at most' | 'is recorded';
  /** As typed, or `$name` for the value of a choice. */
  readonly value: string;
}

const NUMERIC_KINDS: ReadonlySet<string> = new Set(['length', 'angle', 'grade', 'mass', 'year', 'number']);
const numericNames = new Set([
  ...FOOT_VISIT.filter(({ kind }) => NUMERIC_KINDS.has(kind)).map(({ name }) => name),
  'days',
  'age_years',
]);
const isNumeric = (name: string) => numericNames.has(name) || /_(mm|deg|kg|days)$/.test(name);

const ALSO: Readonly<Record<Relation, readonly { readonly name: string; readonly label: string }[]>> = {
  foot_visit: [
    { name: 'foot_end', label: 'Fore or hind' },
    { name: 'season', label: 'Season' },
    { name: 'age_years', label: 'Age in years' },
  ],
  trim_cycle: [
    { name: 'foot_end', label: 'Fore or hind' },
    { name: 'interval_band', label: 'Length of the interval' },
  ],
};

/** The columns that a query can split by, sum up or narrow by, with their labels. */
export function builderColumns(relation: Relation): BuilderColumn[] {
  const shown = [...SHOWN[relation], ...ALSO[relation]].filter(({ name }) => !/^source_/.test(name));
  const unique = new Map(shown.map((column) => [column.name, column]));
  return [...unique.values()].map(({ name, label }) => ({ name, label, numeric: isNumeric(name) }));
}

function conditionSql({ column, test, value }: QueryCondition): string {
  const name = quoteName(column);
  if (test === 'is recorded') return `${name} IS NOT NULL`;
  const sign = { is: '=', 'is not': '<>', 'at least': '>=', 'at most': '<=' }[test];
  const typed = value.trim();
  if (/^\$[A-Za-z_]\w*$/.test(typed)) return `${name} ${sign} ${typed}`;
  if (PROBLEMS.some(({ key }) => column === `${key}_start` || column === `${key}_end`)) {
    return `${name} ${sign} ${/^(yes|true|1)$/i.test(typed) ? 'TRUE' : 'FALSE'}`;
  }
  if (!isNumeric(column)) return `${name} ${sign} ${literal(typed)}`;
  const number = Number(typed);
  if (typed === '' || Number.isNaN(number))
    throw new Error(`${column} must be compared with a number: ${value}`);
  return `${name} ${sign} ${literal(number)}`;
}

/**
 * The SELECT of a plan: n of horses, feet and rows, and of a measured column the middle value with the quarters on
 * either side, by group. Rows that lack the measurement or the group are left out. Throws on a value that does not fit.
 */
export function querySql({ relation, by, measure, conditions }: QueryPlan): string {
  const groups = by.map(quoteName);
  const measured = measure === null ? null : quoteName(measure);
  const columns = [
    ...groups,
    'count(DISTINCT horse_id) AS n_horses',
    'count(DISTINCT foot_key) AS n_feet',
    `count(*) AS ${relation === 'trim_cycle' ? 'n_cycles' : 'n_visits'}`,
    ...(measured
      ? [
          `median(${measured}) AS middle`,
          `quantile_cont(${measured}, 0.25) AS quarter_low`,
          `quantile_cont(${measured}, 0.75) AS quarter_high`,
        ]
      : []),
  ];
  const where = [
    ...(measured ? [`${measured} IS NOT NULL`] : []),
    ...groups.map((name) => `${name} IS NOT NULL`),
    ...conditions.map(conditionSql),
  ];
  return [
    `SELECT ${columns.join(',\n  ')}`,
    `FROM ${relation}`,
    ...(where.length > 0 ? [`WHERE ${where.join('\n  AND ')}`] : []),
    ...(groups.length > 0 ? [`GROUP BY ${groups.join(', ')}`, `ORDER BY ${groups.join(', ')}`] : []),
  ].join('\n');
}
