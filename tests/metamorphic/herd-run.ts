import { type FootRow, HORSE_COLUMNS, VISIT_COLUMNS } from '../../data/foot-row.ts';
import { type HorseHistory, herd } from '../../data/herd.ts';
import type { HorseRow } from '../../data/horses.ts';
import { csvHeader, csvLine, textCells } from '../../data/write-csv.ts';
import type { AnalysisResult } from '../../src/analyses/analysis.ts';
import { ANALYSES } from '../../src/analyses/index.ts';
import { loadHerd, setToday } from '../../src/analyses/load-herd.ts';
import type { CivilDay } from '../../src/core/civil-day.ts';
import { type Cell, rowsOf } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { admit, TODAY } from '../intake/admit.ts';

/** A small herd as its two files would hold it. */
export interface Files {
  readonly visits: readonly FootRow[];
  readonly horses: readonly HorseRow[];
}

const VISITS_EACH = 12;
let pool: HorseHistory[] | null = null;

/** Some horses of the herd's maker, each with its first visits only. */
export function someHorses(seed: number, count: number): Files {
  if (!pool) {
    const all = herd();
    pool = Array.from({ length: 120 }, () => all.next().value as HorseHistory);
  }
  const chosen = seededRandom(seed).shuffle(pool).slice(0, count);
  return {
    visits: chosen.flatMap(({ rows }) => rows.slice(0, 4 * VISITS_EACH)),
    horses: chosen.map(({ horse }) => horse.row),
  };
}

/** Lengths in inches to nine decimals, under headers that say so. */
export type Units = 'mm' | 'in';

export function visitsText({ visits }: Files, units: Units): string {
  const columns = Object.keys(VISIT_COLUMNS);
  const lengths = columns.map((name) => name.endsWith('_mm'));
  if (units === 'mm') {
    return csvHeader(VISIT_COLUMNS) + visits.map((row) => csvLine(textCells(row, VISIT_COLUMNS))).join('');
  }
  const inches = (cell: string, i: number) =>
    lengths[i] && cell !== '' ? (Number(cell) / 25.4).toFixed(9) : cell;
  return (
    csvLine(columns.map((name, i) => (lengths[i] ? name.replace(/_mm$/, ' (in)') : name))) +
    visits.map((row) => csvLine(textCells(row, VISIT_COLUMNS).map(inches))).join('')
  );
}

/** Options that a small herd can answer; other analyses run with their defaults. */
const OPTIONS: Readonly<Record<string, object>> = {
  growth: { by: 'none', adjust: ['terrain'] },
  recurrence: { by: 'none', replicates: 100 },
  'interval-effect': { adjust: ['moisture'] },
  'onset-clearing': { by: 'moisture', adjust: [] },
  prevalence: { by: 'moisture', at: 'every' },
};

export type Results = ReadonlyMap<string, AnalysisResult>;

/** The horse that one-horse is asked about: its own choice goes by the id where several were seen equally often. */
export const firstHorse = ({ horses }: Files): string => horses.map(({ horse_id }) => horse_id).sort()[0]!;

/** The files through intake, engine and every analysis (or those named). */
export async function analyse(
  engine: Engine,
  files: Files,
  {
    units = 'mm' as Units,
    only = null as readonly string[] | null,
    today = TODAY as number,
    horse = firstHorse(files),
  } = {},
): Promise<Results> {
  const horses =
    csvHeader(HORSE_COLUMNS) + files.horses.map((h) => csvLine(textCells(h, HORSE_COLUMNS))).join('');
  const combined = await admit([
    { name: 'visits.csv', text: visitsText(files, units) },
    { name: 'horses.csv', text: horses },
  ]);
  if (combined.report.setAside > 0)
    throw new Error(`rows must all be admitted: ${combined.report.setAside} were not`);
  await loadHerd(engine, { visits: combined.admitted, horses: combined.horses }, { hemisphere: 'north' });
  await setToday(engine, today as CivilDay);
  const results = new Map<string, AnalysisResult>();
  for (const analysis of ANALYSES) {
    if (only && !only.includes(analysis.name)) continue;
    const context = {
      engine,
      today: today as CivilDay,
      lengths: 'mm' as const,
      signal: new AbortController().signal,
      progress: () => undefined,
    };
    results.set(
      analysis.name,
      await analysis.run(
        analysis.options.parse(analysis.name === 'one-horse' ? { horse } : (OPTIONS[analysis.name] ?? {})),
        context,
      ),
    );
  }
  return results;
}

/** One figure with the place where it stands: `growth.estimates toe growth, all: conf_low`. */
export type Cells = ReadonlyMap<string, Cell>;

/** How the cells of one herd are expected to stand in another. */
export interface Expected {
  readonly rename?: (text: string) => string;
  /** Added to every date. */
  readonly days?: number;
}

/** Every cell of every result table by its place; rows known by their text cells, not by their order. */
export function cellsOf(results: Results, { rename = (text) => text, days = 0 }: Expected = {}): Cells {
  const cells = new Map<string, Cell>();
  for (const [name, { tables, counts }] of results) {
    for (const [key, value] of Object.entries(counts)) cells.set(`${name}: ${key}`, value);
    for (const { name: table, table: values } of tables) {
      // The days of a season's curve are those of a year that stands for every year.
      const isDated = (column: string) => table !== 'season' && values.columns[column]?.type === 'day';
      const seen = new Map<string, number>();
      for (const row of rowsOf(values)) {
        const { behind: _, behind_title: __, ...rest } = row;
        const words = Object.values(rest)
          .filter((v): v is string => typeof v === 'string')
          .map(rename);
        const along = ['days', 'weeks', 'day'].flatMap((k) =>
          typeof rest[k] === 'number' ? [String(rest[k] + (isDated(k) ? days : 0))] : [],
        );
        const place = `${name}.${table} ${[...words, ...along].join(', ')}`;
        const repeat = (seen.get(place) ?? 0) + 1;
        seen.set(place, repeat);
        for (const [column, value] of Object.entries(rest)) {
          const cell =
            typeof value === 'string'
              ? rename(value)
              : isDated(column) && value !== null
                ? Number(value) + days
                : value;
          cells.set(`${place}${repeat > 1 ? ` (${repeat})` : ''}: ${column}`, cell);
        }
      }
    }
  }
  return cells;
}

/** Places at which two sets of cells differ by more than `relative`, in words; none where they agree. */
export function differences(
  before: Cells,
  after: Cells,
  relative: number,
  leaveOut: (place: string) => boolean = () => false,
): string[] {
  const places = [...new Set([...before.keys(), ...after.keys()])].filter((place) => !leaveOut(place));
  return places.flatMap((place) => {
    const [a, b] = [before.get(place), after.get(place)];
    if (a === b) return [];
    if (typeof a === 'number' && typeof b === 'number') {
      // A figure near 0 (a difference, a correlation) is held to a distance instead.
      if (Math.abs(a - b) <= relative * Math.max(Math.abs(a), Math.abs(b), 0.01)) return [];
    }
    return [`${place}: ${a} became ${b}`];
  });
}
