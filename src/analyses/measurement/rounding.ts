import { MM_PER_INCH } from '../../core/length.ts';
import { type Estimate, isUnavailable } from '../../core/outcome.ts';
import { numbers, type Table, texts } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { clusteredRate } from '../../stats/clustered-rate.ts';
import { isSpreadOver, type Written, writtenSd, writtenStep } from '../../stats/digit-preference.ts';
import { wilsonInterval } from '../../stats/wilson.ts';
import type { AnalysisContext } from '../analysis.ts';
import { allOf } from '../groups.ts';
import type { Measured } from './options.ts';

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

export async function roundingOf(
  measured: Measured,
  { engine, signal }: Pick<AnalysisContext, 'engine' | 'signal'>,
): Promise<Rounding[]> {
  const columns = measured.columns.map((column) => quoteName(column));
  const each = columns
    .map(
      (column) =>
        `SELECT practitioner_id AS level, round(${column}::DOUBLE, 3) AS value FROM foot_visit WHERE ${column} IS NOT NULL`,
    )
    .join(' UNION ALL ');
  const written = await engine.query(
    `SELECT level, value, count(*) AS n FROM (${each}) GROUP BY level, value ORDER BY level NULLS FIRST, value`,
    signal,
  );
  const steps = measured.unit === '°' ? ANGLE_STEPS : LENGTH_STEPS;
  const found: Rounding[] = [];
  for (const [level, values] of byLevel(written)) {
    const nReadings = values.n.reduce((sum, n) => sum + n, 0);
    if (nReadings < FEWEST_READINGS) continue;
    const size = writtenStep(
      values,
      steps.map((step) => step.size),
    );
    const step = steps.find((each_) => each_.size === size);
    if (!step) continue;
    const where = allOf(
      columns.map((column) => `${column} IS NOT NULL`).join(' OR '),
      level === null ? null : `practitioner_id = ${literal(level)}`,
    );
    const marks = await engine.query(marksSql(columns, step.mark, where), signal);
    const on = numbers(marks, 'on_mark');
    const n = numbers(marks, 'n');
    const sum = (name: string): number => numbers(marks, name).reduce((total, value) => total + value, 0);
    found.push({
      measured,
      level: level ?? 'all',
      step,
      roundingSd: step.size / Math.sqrt(12),
      share: isSpreadOver(writtenSd(values), step.mark) ? shareOnMarks(on, n) : null,
      expected: step.size / step.mark,
      nReadings,
      horses: marks.rowCount,
      feet: sum('feet'),
      visits: sum('visits'),
      where,
    });
  }
  return found;
}

/** Readings of every horse and those on a mark. */
function marksSql(columns: readonly string[], mark: number, where: string): string {
  const on = (column: string): string =>
    `count(*) FILTER (WHERE abs(${column} - round(${column} / ${mark}) * ${mark}) < 0.01)`;
  return `SELECT horse_id, (${columns.map(on).join(' + ')})::DOUBLE AS on_mark,
      (${columns.map((column) => `count(${column})`).join(' + ')})::DOUBLE AS n,
      count(DISTINCT foot_key)::DOUBLE AS feet, count(*)::DOUBLE AS visits
    FROM foot_visit WHERE ${where} GROUP BY horse_id ORDER BY horse_id`;
}

/** All together (null) first, then each practitioner by name. */
function byLevel(table: Table): Map<string | null, Written> {
  const levels = texts(table, 'level');
  const [value, n] = [numbers(table, 'value'), numbers(table, 'n')];
  const rows = new Map<string, number[]>();
  levels.forEach((level, row) => {
    if (level === null) return;
    const known = rows.get(level);
    if (known) known.push(row);
    else rows.set(level, [row]);
  });
  const pick = (own: readonly number[]): Written => ({
    value: Float64Array.from(own, (row) => value[row]!),
    n: Float64Array.from(own, (row) => n[row]!),
  });
  return new Map<string | null, Written>([
    [null, { value, n }],
    ...Array.from(rows, ([level, own]) => [level, pick(own)] as const),
  ]);
}

/** Share of readings, horses as clusters. Where all agree exactly, each counts for one reading: the cautious end. */
function shareOnMarks(on: Float64Array, n: Float64Array): Estimate | null {
  const share = clusteredRate(on, n, Int32Array.from(n.keys()));
  if (!isUnavailable(share)) return { ...share, low: Math.max(0, share.low), high: Math.min(1, share.high) };
  if (share.unavailable !== 'one-level') return null;
  const sum = (values: Float64Array): number => values.reduce((total, value) => total + value, 0);
  return wilsonInterval((sum(on) / sum(n)) * n.length, n.length);
}
