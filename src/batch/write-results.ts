import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import * as aq from 'arquero';
import { type AnalysisResult, type ResultTable, TIDY_COLUMNS } from '../analyses/analysis.ts';
import { type Cell, type Column, rowAt, type Table } from '../core/table.ts';
import { tableToCsv } from '../intake/csv-out.ts';
import type { PlannedRun } from './audit-plan.ts';

export interface Ran {
  readonly planned: PlannedRun;
  readonly result: AnalysisResult;
}

/** Tidy estimates, one file an analysis; other tables one file a run; per-horse tables among them. */
export async function writeTables(folder: string, ran: readonly Ran[]): Promise<string[]> {
  await mkdir(folder, { recursive: true });
  const written: string[] = [];
  const put = async (name: string, table: Table): Promise<void> => {
    await writeFile(join(folder, name), tableToCsv(table));
    written.push(name);
  };
  for (const use of new Set(ran.map((r) => r.planned.use))) {
    const tidy = ran.filter((r) => r.planned.use === use).map((r) => r.result.tables[0] as ResultTable);
    await put(`${use}.csv`, tidyTogether(tidy));
  }
  for (const { planned, result } of ran) {
    const suffix = Object.values(planned.options).join('-');
    for (const table of result.tables.slice(1)) {
      await put(
        `${[planned.use, table.name, suffix].filter(Boolean).join('-')}.csv`,
        withoutBehind(table.table),
      );
    }
  }
  return written;
}

/** The tidy columns of several runs, one under the other; rows that two runs share stand once. */
function tidyTogether(tables: readonly ResultTable[]): Table {
  const [first, ...rest] = tables.map(({ table }) =>
    aq.table(Object.fromEntries(TIDY_COLUMNS.map((name) => [name, [...cells(table, name)]]))),
  );
  if (!first) throw new Error('an analysis must have run once at least');
  const together = first.concat(rest).dedupe('problem', 'term', 'level');
  return {
    rowCount: together.numRows(),
    columns: Object.fromEntries(
      TIDY_COLUMNS.map((name) => [name, columnFrom(together.array(name) as Cell[], isNumber(tables, name))]),
    ),
  };
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
