import { MM_PER_INCH } from '../../core/length.ts';
import { type Estimate, isUnavailable } from '../../core/outcome.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { clusteredRate } from '../../stats/clustered-rate.ts';
import {
  isMultiple,
  isSpreadOver,
  type Written,
  writtenSd,
  writtenStep,
} from '../../stats/digit-preference.ts';
import { wilsonInterval } from '../../stats/wilson.ts';
import { allOf } from '../groups.ts';
import { horseOf } from '../visit-rows.ts';
import type { Measured } from './options.ts';
import type { Readings, WrittenVisits } from './readings.ts';

/** A step in which readings are written, and the coarser marks that hurried readings fall on. */
interface Step {
  readonly size: number;
  readonly words: string;
  readonly mark: number;
  readonly markWords: string;
}

const metric = (size: number, unit: 'mm' | '°'): Step => {
  const mark = size === 2 || size === 5 ? 10 : size === 10 ? 50 : 5;
  const words = (value: number): string => (unit === '°' ? `${value}°` : `${value} mm`);
  return { size, words: words(size), mark, markWords: words(mark) };
};
const inches = (parts: number, words: string, mark: number, markWords: string): Step => ({
  size: MM_PER_INCH / parts,
  words,
  mark: mark * MM_PER_INCH,
  markWords,
});

const METRIC = [10, 5, 2, 1, 0.5, 0.1];
/** Coarsest first. */
const LENGTH_STEPS: readonly Step[] = [
  ...METRIC.map((size) => metric(size, 'mm')),
  inches(2, '1/2 in', 1, '1 in'),
  inches(4, '1/4 in', 0.5, '1/2 in'),
  inches(8, '1/8 in', 0.25, '1/4 in'),
  inches(10, '0.1 in', 0.5, '0.5 in'),
  inches(16, '1/16 in', 0.25, '1/4 in'),
  inches(20, '0.05 in', 0.5, '0.5 in'),
  inches(32, '1/32 in', 0.25, '1/4 in'),
].sort((a, b) => b.size - a.size);
const ANGLE_STEPS: readonly Step[] = METRIC.map((size) => metric(size, '°'));

/** How one practitioner (or all) writes one measure. */
export interface Rounding {
  readonly measured: Measured;
  /** `all`, or a practitioner. */
  readonly level: string;
  readonly step: Step;
  /** SD that rounding to the step adds to a reading, in the measure's unit: step/√12. */
  readonly roundingSd: number;
  /** Share on the coarse marks, horses as clusters; null where too few horses tell, or readings spread too little. */
  readonly share: Estimate | null;
  /** Were every end as frequent as the next. */
  readonly expected: number;
  readonly nReadings: number;
  readonly horses: number;
  readonly feet: number;
  readonly visits: number;
  readonly where: string;
}

/** Fewer readings than this say nothing of how somebody writes. */
const FEWEST_READINGS = 50;

/** Visits of the cohort under `null`, then those of each practitioner, by name. */
export function visitsByReader({ visits: { places }, reader }: WrittenVisits): VisitsByReader {
  const counts = new Uint32Array(reader.levels.length);
  const { codes } = reader;
  for (let i = 0; i < places.length; i++) if (codes[places[i]!]! >= 0) counts[codes[places[i]!]!]! += 1;
  const own = Array.from(counts, (n) => new Uint32Array(n));
  const filled = new Uint32Array(counts.length);
  for (let i = 0; i < places.length; i++) {
    const of = codes[places[i]!]!;
    if (of >= 0) own[of]![filled[of]!++] = places[i]!;
  }
  const named = reader.levels.map((level, k) => [level, own[k]!] as const);
  return new Map<string | null, Uint32Array>([
    [null, places],
    ...named.filter(([, rows]) => rows.length > 0),
  ]);
}
type VisitsByReader = ReadonlyMap<string | null, Uint32Array>;

export async function roundingOf(
  measured: Measured,
  readings: readonly Readings[],
  written: WrittenVisits,
  readers: VisitsByReader,
  pause: () => Promise<void>,
): Promise<Rounding[]> {
  const steps = measured.unit === '°' ? ANGLE_STEPS : LENGTH_STEPS;
  const sizes = steps.map(({ size }) => size);
  const told: Rounding[] = [];
  for (const [level, rows] of readers) {
    await pause();
    const values = valuesIn(readings, rows);
    const nReadings = values.n.reduce((sum, n) => sum + n, 0);
    if (nReadings < FEWEST_READINGS) continue;
    const size = writtenStep(values, sizes);
    const step = steps.find((each) => each.size === size);
    if (!step) continue;
    const { on, n, feet, visits } = byHorse(readings, step.mark, rows, written);
    told.push({
      measured,
      level: level ?? 'all',
      step,
      roundingSd: step.size / Math.sqrt(12),
      share: isSpreadOver(writtenSd(values), step.mark) ? shareOnMarks(on, n) : null,
      expected: step.size / step.mark,
      nReadings,
      horses: n.length,
      feet,
      visits,
      where: allOf(
        measured.columns.map((column) => `${quoteName(column)} IS NOT NULL`).join(' OR '),
        level === null ? null : `practitioner_id = ${literal(level)}`,
      ),
    });
  }
  return told;
}

/** Readings of these rows by value, to a thousandth: what else differs is how a decimal is stored. */
function valuesIn(readings: readonly Readings[], rows: Uint32Array): Written {
  const found = new Map<number, number>();
  for (const { values, places } of readings) {
    const counts = new Uint32Array(values.length);
    for (let i = 0; i < rows.length; i++) counts[places[rows[i]!]!]! += 1;
    for (let place = 1; place < counts.length; place++) {
      if (counts[place] === 0) continue;
      const value = Math.round(values[place]! * 1000) / 1000;
      found.set(value, (found.get(value) ?? 0) + counts[place]!);
    }
  }
  const sorted = [...found].sort(([a], [b]) => a - b);
  return {
    value: Float64Array.from(sorted, ([value]) => value),
    n: Float64Array.from(sorted, ([, n]) => n),
  };
}

/** Of each horse with a reading among these rows: how many, and how many of them on a mark; feet and visits of them all. */
function byHorse(
  readings: readonly Readings[],
  mark: number,
  rows: Uint32Array,
  { visits: { foot, horseIds } }: WrittenVisits,
): { readonly on: Float64Array; readonly n: Float64Array; readonly feet: number; readonly visits: number } {
  const isOn = readings.map(({ values }) =>
    Uint8Array.from(values, (value) => (isMultiple(value, mark) ? 1 : 0)),
  );
  const [read, marked] = [new Uint8Array(rows.length), new Uint8Array(rows.length)];
  readings.forEach(({ places }, k) => {
    addMarks(read, marked, places, isOn[k]!, rows);
  });
  const on = new Float64Array(horseIds.length);
  const n = new Float64Array(horseIds.length);
  let feet = 0;
  let visits = 0;
  let lastFoot = -1;
  let lastHorse = -1;
  let horses = 0;
  for (let i = 0; i < rows.length; i++) {
    if (read[i] === 0) continue;
    visits += 1;
    const here = foot[rows[i]!]!;
    // Rows come by horse and foot.
    if (here !== lastFoot) {
      feet += 1;
      lastFoot = here;
      if (horseOf(here) !== lastHorse) horses += 1;
      lastHorse = horseOf(here);
    }
    on[horses - 1]! += marked[i]!;
    n[horses - 1]! += read[i]!;
  }
  return { on: on.slice(0, horses), n: n.slice(0, horses), feet, visits };
}

/** Counts for each row a reading, and whether it is on a mark. */
function addMarks(
  read: Uint8Array,
  marked: Uint8Array,
  places: Uint16Array | Uint32Array,
  isOn: Uint8Array,
  rows: Uint32Array,
): void {
  for (let i = 0; i < rows.length; i++) {
    const place = places[rows[i]!]!;
    if (place === 0) continue;
    read[i]! += 1;
    marked[i]! += isOn[place]!;
  }
}

/** Share of readings, horses as clusters. Where all agree exactly, each counts for one reading: the cautious end. */
function shareOnMarks(on: Float64Array, n: Float64Array): Estimate | null {
  const share = clusteredRate(on, n, Int32Array.from(n.keys()));
  if (!isUnavailable(share)) return { ...share, low: Math.max(0, share.low), high: Math.min(1, share.high) };
  if (share.unavailable !== 'one-level') return null;
  const sum = (values: Float64Array): number => values.reduce((total, value) => total + value, 0);
  return wilsonInterval((sum(on) / sum(n)) * n.length, n.length);
}
