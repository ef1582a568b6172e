import { numbers, type Table, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';

/** Rows of one estimator, the same for it and for R: columns of numbers, all of one length. */
export interface Rows {
  readonly n: number;
  readonly columns: Readonly<Record<string, Float64Array>>;
  /** Names of the columns of the design among them, in order. */
  readonly terms: readonly string[];
}

interface Asked {
  readonly sql: string;
  /** Text columns that become 0/1 columns: of every level, or of all but the commonest. */
  readonly groups?: Readonly<Record<string, 'every level' | 'all but the commonest'>>;
  /** A column of ones before the others. */
  readonly intercept?: boolean;
  /** Columns of numbers that belong to the design, after the groups. */
  readonly covariates?: readonly string[];
}

const KEYS = `(dense_rank() OVER (ORDER BY horse_id) - 1)::INTEGER AS horse,
  (dense_rank() OVER (ORDER BY foot_key) - 1)::INTEGER AS foot`;
const CYCLE_ORDER = 'ORDER BY horse_id, foot_key, visit_date, row_key';
const GRADED = 'flag IS NULL AND separation_start IS NOT NULL AND separation_end IS NOT NULL';
const KNOWN = 'breed_type IS NOT NULL AND terrain IS NOT NULL AND moisture IS NOT NULL';

/** `survfit` takes minutes on more. */
const FIRST_HORSES = 5_000;
const SPELLS = `SELECT (dense_rank() OVER (ORDER BY horse_id) - 1)::INTEGER AS horse,
    (last_seen - first_seen)::DOUBLE AS "left", coalesce((next_seen - first_seen)::DOUBLE, 'infinity'::DOUBLE) AS "right",
    (dense_rank() OVER (ORDER BY breed_type) - 1)::INTEGER AS level, breed_type, foot_key, spell_number
  FROM spell WHERE problem = 'separation' AND NOT present AND previous_seen IS NOT NULL AND breed_type IS NOT NULL
    AND (next_seen IS NULL OR next_seen > first_seen)`;

/** What each estimator is given, over the whole herd unless said. */
export const ASKED = {
  growth: {
    sql: `SELECT ${KEYS}, days, toe_regrowth_mm AS y, season_cos AS cosine, season_sin AS sine, breed_type, terrain
      FROM trim_cycle WHERE flag IS NULL AND toe_regrowth_mm IS NOT NULL AND ${KNOWN} ${CYCLE_ORDER}`,
    groups: { breed_type: 'every level', terrain: 'all but the commonest' },
    covariates: ['cosine', 'sine'],
  },
  spells: {
    sql: `SELECT * EXCLUDE (foot_key, spell_number) FROM (${SPELLS}) ORDER BY horse, foot_key, spell_number`,
    groups: { breed_type: 'all but the commonest' },
  },
  returns: {
    sql: `SELECT horse, "left", "right", level FROM (${SPELLS}) WHERE horse < ${FIRST_HORSES}
      ORDER BY horse, foot_key, spell_number`,
  },
  cycles: {
    sql: `SELECT ${KEYS}, days, separation_start::INTEGER AS start, separation_end::INTEGER AS "end", terrain, moisture
      FROM trim_cycle WHERE ${GRADED} AND ${KNOWN} ${CYCLE_ORDER}`,
    groups: { terrain: 'all but the commonest', moisture: 'all but the commonest' },
    intercept: true,
  },
  risk: {
    sql: `SELECT ${KEYS}, separation_end::INTEGER AS event, ln(days / 42) AS log_days, breed_type, terrain, moisture, season
      FROM trim_cycle WHERE ${GRADED} AND NOT separation_start AND ${KNOWN} ${CYCLE_ORDER}`,
    groups: {
      breed_type: 'all but the commonest',
      terrain: 'all but the commonest',
      moisture: 'all but the commonest',
      season: 'all but the commonest',
    },
    intercept: true,
    covariates: ['log_days'],
  },
  strata: {
    sql: `SELECT (dense_rank() OVER (ORDER BY horse_id) - 1)::INTEGER AS horse,
        (dense_rank() OVER (ORDER BY breed_type, terrain) - 1)::INTEGER AS stratum,
        (protection <> 'bare')::INTEGER AS exposed, (sensitivity_next >= 1)::INTEGER AS event
      FROM trim_cycle WHERE flag IS NULL AND protection IS NOT NULL AND sensitivity_next IS NOT NULL AND ${KNOWN} ${CYCLE_ORDER}`,
  },
} as const satisfies Record<string, Asked>;

export type RowsName = keyof typeof ASKED;

export async function gatherRows(engine: Engine, name: RowsName): Promise<Rows> {
  const asked: Asked = ASKED[name];
  const table = await engine.query(asked.sql);
  const n = table.rowCount;
  const columns: Record<string, Float64Array> = {};
  for (const [column, { type }] of Object.entries(table.columns)) {
    if (type === 'number') columns[column] = numbers(table, column);
  }
  const terms: string[] = [];
  if (asked.intercept) {
    columns.level_of_all = new Float64Array(n).fill(1);
    terms.push('level_of_all');
  }
  for (const [group, kept] of Object.entries(asked.groups ?? {})) {
    for (const [level, column] of indicators(table, group, kept)) {
      columns[`${group}_${level}`] = column;
      terms.push(`${group}_${level}`);
    }
  }
  return { n, columns, terms: [...terms, ...(asked.covariates ?? [])] };
}

function indicators(table: Table, group: string, kept: string): [string, Float64Array][] {
  const values = texts(table, group);
  const counts = new Map<string, number>();
  for (const value of values) counts.set(String(value), (counts.get(String(value)) ?? 0) + 1);
  const commonest = [...counts].sort((a, b) => b[1] - a[1])[0]?.[0];
  return [...counts.keys()]
    .sort()
    .filter((level) => kept === 'every level' || level !== commonest)
    .map((level) => [level, Float64Array.from(values, (value) => (value === level ? 1 : 0))]);
}

/** The design row by row: n × terms. */
export function designOf({ n, columns, terms }: Rows): Float64Array {
  const x = new Float64Array(n * terms.length);
  terms.forEach((term, j) => {
    const column = columns[term]!;
    for (let row = 0; row < n; row++) x[row * terms.length + j] = column[row]!;
  });
  return x;
}
