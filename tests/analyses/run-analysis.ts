import { afterAll, expect } from 'vitest';
import type {
  AnalysisContext,
  AnalysisDraft,
  AnalysisResult,
  ResultTable,
} from '../../src/analyses/analysis.ts';
import { analysisNamed } from '../../src/analyses/index.ts';
import { loadHerd } from '../../src/analyses/load-herd.ts';
import { dayFromIso, isoFromDay } from '../../src/core/civil-day.ts';
import { type Cell, numbers, rowsOf } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { NO_HORSES, visitTable } from '../herd-fixture.ts';

export type Row = Record<string, string | number | boolean | null>;

let shared: Engine | null = null;

afterAll(async () => {
  await shared?.close();
  shared = null;
});

/** A herd written by hand, in place of the one before it: a test file has one engine. */
export async function openHerd(rows: readonly Row[]): Promise<Engine> {
  shared ??= await openNodeEngine();
  const engine = shared;
  await loadHerd(engine, { visits: visitTable(rows), horses: NO_HORSES }, { hemisphere: 'north' });
  return engine;
}

export function runAnalysis(
  engine: Engine,
  name: string,
  options: object = {},
  context: Partial<AnalysisContext> = {},
): Promise<AnalysisResult> {
  const analysis = analysisNamed(name);
  return analysis.run(analysis.options.parse(options), {
    engine,
    today: dayFromIso('2026-01-01')!,
    lengths: 'mm',
    signal: new AbortController().signal,
    progress: () => undefined,
    ...context,
  });
}

/** ISO text of a day so many days after 1 March 2024. */
export const dayAfter = (days: number): string => isoFromDay(dayFromIso('2024-03-01')! + days);

/** Feet trimmed to 80 mm every 30 days, each regrowth as given. */
export function trimmedFeet(regrowths: Record<string, readonly number[]>, extra: Row = {}): Row[] {
  return Object.entries(regrowths).flatMap(([key, mm]) => {
    const [horse_id, foot] = key.split(' ') as [string, string];
    return [null, ...mm].map((grown, i) => ({
      horse_id,
      foot,
      visit_date: dayAfter(30 * i),
      toe_before_mm: grown === null ? 90 : 80 + grown,
      toe_after_mm: 80,
      ...extra,
    }));
  });
}

export function tableOf(result: AnalysisResult, name: string): ResultTable {
  const found = result.tables.find((table) => table.name === name);
  if (!found) throw new Error(`no table ${name}: ${result.tables.map((table) => table.name).join(', ')}`);
  return found;
}

/** The rows of a table that have these cells. */
export function rowsWith(
  result: AnalysisResult,
  name: string,
  cells: Record<string, Cell>,
): Record<string, Cell>[] {
  return rowsOf(tableOf(result, name).table).filter((row) =>
    Object.entries(cells).every(([key, value]) => row[key] === value),
  );
}

/** The one row of the tidy table with this term and level. */
export function estimateOf(result: AnalysisResult, term: string, level = 'all'): Record<string, Cell> {
  const found = rowsWith(result, 'estimates', { term, level });
  expect(found, `${term}, ${level}`).toHaveLength(1);
  return found[0]!;
}

/** Columns in which a cell may be missing: no error exists, an end is open, a name was not given. */
const MAY_BE_MISSING = new Set([
  'std_error',
  'conf_low',
  'conf_high',
  'ratio',
  'ratio_low',
  'ratio_high',
  'began_after',
  'ended_by',
  'most_days',
  'middle_from',
  'middle_to',
  'n_spells',
  // Of a horse without a cycle.
  'usual_days',
  'change_days',
  // What a foot as last seen has recorded, and the share of feet that a rule leaves bare where it leaves none.
  'sole_depth_mm',
  'sensitivity',
  'tender_share',
  'tender_low',
  'tender_high',
]);

/**
 * What must hold of every answer: a number or none (never infinite, missing only where that means something),
 * sentences that can be shown, and as many rows behind each row as it says.
 */
export async function expectSound(engine: Engine, result: AnalysisResult): Promise<void> {
  for (const { name, table } of result.tables) {
    for (const [column, cells] of Object.entries(table.columns)) {
      if (cells.type !== 'number') continue;
      cells.values.forEach((value, row) => {
        const where = `${result.analysis} ${name}.${column}[${row}]`;
        if (Number.isNaN(value)) {
          const isLimit =
            column === 'estimate' && JSON.stringify(rowsOf(table)[row]).includes('one-sided limit');
          const isUnknownMiddle = name === 'summary' && column === 'estimate';
          expect(MAY_BE_MISSING.has(column) || isLimit || isUnknownMiddle, where).toBe(true);
        } else expect(Number.isFinite(value), `${where} ${value}`).toBe(true);
      });
    }
  }
  await expectRowsBehind(engine, result);
  const sentences = [
    ...result.findings.map(({ sentence }) => sentence),
    ...result.unavailable.map(({ sentence }) => sentence),
  ];
  for (const sentence of sentences) {
    expect(sentence).toMatch(/^[\p{Lu}\d].*[.!?]$/su);
    expect(sentence).not.toMatch(/NaN|Infinity|undefined|null|\[object|_/);
    expect(sentence).not.toMatch(
      /significant|\bcaus(e|es|ed|ing)\b|\bdue to\b|\bleads? to\b|\bresults? in\b/i,
    );
    // A figure is never parted from its unit.
    expect(sentence).not.toMatch(/\d (%|mm|°|days?\b|weeks?\b)/);
  }
  expect(result.findings.length + result.unavailable.length, 'something is said').toBeGreaterThan(0);
}

/** A draft holds all tables of the answer; in those whose bands are to come, cells of limits may be empty and nothing else differs. */
export function expectDraft({ tables, withoutBands, counts }: AnalysisDraft, result: AnalysisResult): void {
  expect(counts).toEqual(result.counts);
  expect(tables.map(({ name }) => name)).toEqual(result.tables.map(({ name }) => name));
  let empty = 0;
  for (const { name, table } of tables) {
    const whole = tableOf(result, name).table;
    for (const [column, cells] of Object.entries(table.columns)) {
      const last = whole.columns[column]!;
      const mayLack = withoutBands.includes(name) && (column === 'conf_low' || column === 'conf_high');
      if (mayLack && cells.type === 'number' && last.type === 'number') {
        for (const [row, value] of cells.values.entries())
          if (Number.isNaN(value) && !Number.isNaN(last.values[row])) empty += 1;
          else expect(value, `${name}.${column}[${row}]`).toEqual(last.values[row]);
      } else expect(cells, `${name}.${column}`).toEqual(last);
    }
  }
  expect(empty, 'limits that were still to come').toBeGreaterThan(0);
}

async function expectRowsBehind(engine: Engine, result: AnalysisResult): Promise<void> {
  for (const { name, table, relation } of result.tables) {
    if (!('behind' in table.columns)) continue;
    const rows = rowsOf(table);
    const step = Math.max(1, Math.ceil(rows.length / 8));
    for (const row of rows.filter((_, i) => i % step === 0)) {
      if (row.behind === null) continue;
      const said = row.n_spells ?? row.n_visits ?? row.n_cycles ?? null;
      const counted = await engine.query(
        `SELECT count(*) AS n FROM ${row.behind_relation ?? relation} WHERE ${row.behind}`,
      );
      if (said !== null) {
        expect(numbers(counted, 'n')[0], `${result.analysis} ${name} ${JSON.stringify(row.level)}`).toBe(
          said,
        );
      }
    }
  }
  for (const { behind } of result.findings) {
    if (!behind) continue;
    const counted = await engine.query(`SELECT count(*) AS n FROM ${behind.relation} WHERE ${behind.where}`);
    expect(numbers(counted, 'n')[0]).toBeGreaterThan(0);
  }
}
