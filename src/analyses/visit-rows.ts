import { numbers, texts } from '../core/table.ts';
import { FEET, type Foot } from '../herd/vocabularies.ts';
import { type AskContext, columnsKept, remembered } from './analysis.ts';
import {
  type Asking,
  type ColumnAsk,
  type CycleColumn,
  cycleColumns,
  type PlacedRows,
  placesOfCohort,
} from './cycle-columns.ts';
import { footOrder, inOrder, numbered } from './foot-order.ts';
import { placeOf } from './groups.ts';
import { rowColumns } from './row-columns.ts';

/** Visits of feet, by horse, by foot in the order of the vocabulary, and in time. */
interface VisitRows extends PlacedRows {
  readonly horseIds: readonly string[];
  /** Place of the horse times four, and that of the foot in the vocabulary. */
  readonly foot: Int32Array;
  /** Days since 1970. */
  readonly day: Int32Array;
  /** Where a foot has several rows of one day: for each of these which is first by file and line, the one without last. */
  readonly source: ReadonlyMap<number, Source>;
}

interface Source {
  readonly file: string | null;
  readonly line: number;
}

/** The cohort's visits are those at `places`. */
export interface CohortVisits extends VisitRows {
  readonly places: Uint32Array;
  readonly columns: readonly CycleColumn[];
}

/** Visits of the cohort with columns, each taken out of the engine once: of the whole herd where it can be kept. */
export async function cohortVisits(
  context: AskContext,
  columns: readonly ColumnAsk[],
): Promise<CohortVisits> {
  const { engine, signal, rememberHerd } = context;
  const remember = columnsKept(context);
  const asking: Asking = rememberHerd
    ? { engine, signal, remember: rememberHerd, of: 'foot_visit_all' }
    : { engine, signal, remember, of: 'cohort_visit' };
  const rows = await remembered(asking, 'visit rows', () => visitRows(asking));
  const [found, cohort] = await Promise.all([
    cycleColumns(asking, rows, columns),
    rememberHerd &&
      remembered({ remember }, 'visits of the cohort', () =>
        placesOfCohort(context, 'cohort_visit_no', rows),
      ),
  ]);
  return { ...rows, columns: found, places: cohort ?? numbered(rows.given.length) };
}

/** The horse that a foot is of, as a place among the ids. */
export const horseOf = (foot: number): number => Math.floor(foot / FEET.length);
/** A foot as the vocabulary has it. */
export const footName = (foot: number): Foot => FEET[foot % FEET.length]!;
/** Horse and foot: `H101 LF`. */
export const keyOfFoot = (horseIds: readonly string[], foot: number): string =>
  `${horseIds[horseOf(foot)]} ${footName(foot)}`;

/** The foot of such a key, as `foot` numbers them; −1 where there is none of that horse. */
export function numberOfFoot(horseIds: readonly string[], key: string): number {
  const end = key.lastIndexOf(' ');
  const horse = placeOf(horseIds, key.slice(0, end));
  const foot = FEET.indexOf(key.slice(end + 1) as Foot);
  return horse < 0 || foot < 0 ? -1 : horse * FEET.length + foot;
}

/** Day of each horse's last visit in the cohort, by its place among the ids; NaN where it has none there. */
export function lastDays({ places, horseIds, foot, day }: CohortVisits): Float64Array {
  const last = new Float64Array(horseIds.length).fill(Number.NaN);
  for (const row of places) {
    const horse = horseOf(foot[row]!);
    if (!(last[horse]! >= day[row]!)) last[horse] = day[row]!;
  }
  return last;
}

/** The cohort's rows of each foot, in time. */
export function* byFoot({ places, foot }: CohortVisits): Generator<readonly number[]> {
  for (let i = 0; i < places.length; ) {
    const at = foot[places[i]!]!;
    const rows: number[] = [];
    for (; i < places.length && foot[places[i]!] === at; i++) rows.push(places[i]!);
    yield rows;
  }
}

async function visitRows(asking: Asking): Promise<VisitRows> {
  const { engine, signal, of } = asking;
  const feet = FEET.map((foot, k) => `WHEN '${foot}' THEN ${k}`).join(' ');
  const found = await rowColumns(asking, {
    row_no: { sql: 'row_no', as: 'whole' },
    horse_id: { sql: 'horse_id', as: 'text' },
    foot: { sql: `(CASE foot ${feet} END)::TINYINT`, as: 'whole' },
    day: { sql: "(visit_date - DATE '1970-01-01')::INTEGER", as: 'whole' },
  });
  const { row_no: given, horse_id: horses, foot, day } = found;
  for (let row = 0; row < foot.length; row++) foot[row]! += horses.codes[row]! * FEET.length;
  const order = footOrder(foot, day, horses.levels.length * FEET.length);
  const source = await sourcesOf(sameDay(order, foot, day), given, { engine, signal, of });
  if (source.size > 0) {
    const first = (a: number, b: number): number => bySource(source.get(a), source.get(b));
    order.sort((a, b) => foot[a]! - foot[b]! || day[a]! - day[b]! || first(a, b) || a - b);
  }
  const isOrdered = order.every((row, i) => row === i);
  return {
    given,
    order: isOrdered ? null : order,
    horseIds: horses.levels,
    foot: inOrder(foot, order),
    day: inOrder(day, order),
    source: source.size === 0 ? source : placed(source, order),
  };
}

/** Rows that share foot and day with another. */
function sameDay(order: Uint32Array, foot: Int32Array, day: Int32Array): Uint32Array {
  const alike = (a: number | undefined, b: number | undefined): boolean =>
    a !== undefined && b !== undefined && foot[a] === foot[b] && day[a] === day[b];
  return order.filter((row, i) => alike(row, order[i - 1]) || alike(row, order[i + 1]));
}

async function sourcesOf(
  rows: Uint32Array,
  given: Int32Array,
  { engine, signal, of }: Pick<Asking, 'engine' | 'signal' | 'of'>,
): Promise<ReadonlyMap<number, Source>> {
  if (rows.length === 0) return new Map();
  const asked = new Map(Array.from(rows, (row) => [given[row]!, row]));
  const table = await engine.query(
    `SELECT row_no, source_file, source_line FROM ${of} WHERE row_no IN (${[...asked.keys()].join(', ')})`,
    signal,
  );
  const [files, lines] = [texts(table, 'source_file'), numbers(table, 'source_line')];
  return new Map(
    Array.from(numbers(table, 'row_no'), (row, k) => [
      asked.get(row)!,
      { file: files[k] ?? null, line: lines[k]! },
    ]),
  );
}

/** Of two rows of one foot and day, that of the file and line that come last; a row without them comes before. */
export function isLater({ source }: CohortVisits, row: number, than: number): boolean {
  const [a, b] = [source.get(row), source.get(than)];
  if (!a || !b) return false;
  if ((a.file === null) !== (b.file === null)) return b.file === null;
  if (a.file === b.file && Number.isNaN(a.line) !== Number.isNaN(b.line)) return Number.isNaN(b.line);
  return bySource(a, b) > 0;
}

/** By file, then by line; without one last, as the engine has it. */
function bySource(a: Source | undefined, b: Source | undefined): number {
  if (!a || !b) return 0;
  if (a.file !== b.file) {
    if (a.file === null || b.file === null) return a.file === null ? 1 : -1;
    return a.file < b.file ? -1 : 1;
  }
  if (a.line === b.line || (Number.isNaN(a.line) && Number.isNaN(b.line))) return 0;
  if (Number.isNaN(a.line) || Number.isNaN(b.line)) return Number.isNaN(a.line) ? 1 : -1;
  return a.line - b.line;
}

function placed(source: ReadonlyMap<number, Source>, order: Uint32Array): ReadonlyMap<number, Source> {
  const found = new Map<number, Source>();
  order.forEach((row, place) => {
    const at = source.get(row);
    if (at) found.set(place, at);
  });
  return found;
}
