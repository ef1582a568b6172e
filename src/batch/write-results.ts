import { constants } from 'node:fs';
import { access, mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import * as aq from 'arquero';
import { type AnalysisResult, type ResultTable, TIDY_COLUMNS } from '../analyses/analysis.ts';
import { GROUPINGS } from '../analyses/groups.ts';
import { type Cell, type Column, rowAt, type Table } from '../core/table.ts';
import { tableToCsv } from '../intake/csv-out.ts';
import { UnusableInput } from './arguments.ts';
import type { PlannedRun } from './audit-plan.ts';

export interface Ran {
  readonly planned: PlannedRun;
  readonly result: AnalysisResult;
}

/** Makes the folder for the results, before anything is computed. Throws `UnusableInput` where that cannot be done. */
export async function openFolder(folder: string): Promise<void> {
  try {
    await mkdir(folder, { recursive: true });
    await access(folder, constants.W_OK);
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    const why = code === 'EEXIST' || code === 'ENOTDIR' ? 'a file of this name is in the way' : `${code}`;
    throw new UnusableInput(`--out must be a folder that can be written to: ${folder} (${why})`);
  }
}

/** Folder, inside that of the results, for the tables behind the estimates. */
const TABLES = 'tables';

/** Tidy estimates, one file an analysis; in `tables/` the others, one file a run; per-horse tables among them. */
export async function writeTables(folder: string, ran: readonly Ran[]): Promise<string[]> {
  await mkdir(join(folder, TABLES), { recursive: true });
  const written: string[] = [];
  const put = async (name: string, table: Table): Promise<void> => {
    await writeFile(join(folder, name), tableToCsv(table));
    written.push(name);
  };
  for (const use of new Set(ran.map((r) => r.planned.use))) {
    await put(`${use}.csv`, tidyTogether(ran.filter((r) => r.planned.use === use)));
  }
  for (const { planned, result } of ran) {
    const suffix = Object.values(planned.options).join('-');
    for (const table of result.tables.slice(1)) {
      await put(
        `${TABLES}/${[planned.use, table.name, suffix].filter(Boolean).join('-')}.csv`,
        withoutBehind(table.table),
      );
    }
  }
  return written;
}

/**
 * The tidy columns of several runs, one under the other. A row that two runs share stands once; where a model by other
 * groups puts another figure on the same thing, its level says by what.
 */
function tidyTogether(runs: readonly Ran[]): Table {
  const tables = runs.map(({ result }) => result.tables[0] as ResultTable);
  const [first, ...rest] = tables.map(({ table }) =>
    aq.table(Object.fromEntries(TIDY_COLUMNS.map((name) => [name, [...cells(table, name)]]))),
  );
  if (!first) throw new Error('an analysis must have run once at least');
  const counts = tables.map(({ table }) => table.rowCount);
  const run = counts.flatMap((rows, i) => new Array<number>(rows).fill(i));
  const together = first
    .concat(rest)
    .assign(aq.table({ run }))
    .dedupe(...TIDY_COLUMNS);
  const levels = distinctLevels(together.objects() as TidyCells[], runs);
  return {
    rowCount: together.numRows(),
    columns: Object.fromEntries(
      TIDY_COLUMNS.map((name) => [
        name,
        name === 'level'
          ? { type: 'text', values: levels }
          : columnFrom(together.array(name) as Cell[], isNumber(tables, name)),
      ]),
    ),
  };
}

const groupedBy = (run: Ran | undefined): string =>
  GROUPINGS[String(run?.planned.options.by)] ?? 'other groups';

type TidyCells = Readonly<Record<'problem' | 'term' | 'level' | 'run', string | number | null>>;

function distinctLevels(rows: readonly TidyCells[], runs: readonly Ran[]): string[] {
  const seen = new Set<string>();
  return rows.map(({ problem, term, level, run }) => {
    const key = `${problem} | ${term} | ${level}`;
    const told = seen.has(key) ? `${level}, model by ${groupedBy(runs[Number(run)])}` : `${level}`;
    seen.add(key);
    return told;
  });
}

const isNumber = (tables: readonly ResultTable[], name: string): boolean =>
  tables[0]?.table.columns[name]?.type === 'number';

function* cells(table: Table, name: string): Generator<Cell> {
  for (let row = 0; row < table.rowCount; row++) yield rowAt(table, row)[name] ?? null;
}

function columnFrom(values: readonly Cell[], number: boolean): Column {
  return number
    ? { type: 'number', values: Float64Array.from(values, (v) => (v === null ? Number.NaN : Number(v))) }
    : { type: 'text', values: values.map((v) => (v === null ? null : String(v))) };
}

/** SQL conditions are for the notebook's own use. */
function withoutBehind(table: Table): Table {
  const columns = Object.entries(table.columns).filter(([name]) => !name.startsWith('behind'));
  return { ...table, columns: Object.fromEntries(columns) };
}
