import { MM_PER_INCH } from '../../core/length.ts';
import { type Estimate, isUnavailable } from '../../core/outcome.ts';
import { numbers, type Table, texts } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { FEET } from '../../herd/vocabularies.ts';
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
  const told = [...byLevel(written)].flatMap(([level, values]) => {
    const nReadings = values.n.reduce((sum, n) => sum + n, 0);
    if (nReadings < FEWEST_READINGS) return [];
    const size = writtenStep(
      values,
      steps.map((step) => step.size),
    );
    const step = steps.find((each_) => each_.size === size);
    return step ? [{ level, values, nReadings, step }] : [];
  });
  if (told.length === 0) return [];
  const marks = [...new Set(told.map(({ step }) => step.mark))];
  const counted = await engine.query(marksSql(columns, marks), signal);
  const rowsOf = rowsByReader(counted);
  return told.map(({ level, values, nReadings, step }): Rounding => {
    const rows = rowsOf.get(level) ?? [];
    const pick = (name: string): Float64Array => {
      const all = numbers(counted, name);
      return Float64Array.from(rows, (row) => all[row]!);
    };
    const sum = (name: string): number => pick(name).reduce((total, value) => total + value, 0);
    return {
      measured,
      level: level ?? 'all',
      step,
      roundingSd: step.size / Math.sqrt(12),
      share: isSpreadOver(writtenSd(values), step.mark)
        ? shareOnMarks(pick(`on_mark_${marks.indexOf(step.mark)}`), pick('n'))
        : null,
      expected: step.size / step.mark,
      nReadings,
      horses: rows.length,
      feet: sum('feet'),
      visits: sum('visits'),
      where: allOf(
        columns.map((column) => `${column} IS NOT NULL`).join(' OR '),
        level === null ? null : `practitioner_id = ${literal(level)}`,
      ),
    };
  });
}

/** Readings of every horse and those on each of some marks: by whomever (no reader), and by each reader apart. */
function marksSql(columns: readonly string[], marks: readonly number[]): string {
  const on = (column: string, mark: number): string =>
    `count(*) FILTER (WHERE abs(${column} - round(${column} / ${mark}) * ${mark}) < 0.01)`;
  const onMarks = marks.map(
    (mark, k) => `(${columns.map((column) => on(column, mark)).join(' + ')})::DOUBLE AS on_mark_${k}`,
  );
  const places = FEET.map((foot, k) => `WHEN ${literal(foot)} THEN ${1 << k}`).join(' ');
  return `SELECT horse_id, practitioner_id AS reader, grouping(practitioner_id)::DOUBLE AS is_all, ${onMarks.join(', ')},
      (${columns.map((column) => `count(${column})`).join(' + ')})::DOUBLE AS n,
      bit_count(bit_or(CASE foot ${places} END))::DOUBLE AS feet, count(*)::DOUBLE AS visits
    FROM foot_visit WHERE ${columns.map((column) => `${column} IS NOT NULL`).join(' OR ')}
    GROUP BY GROUPING SETS ((horse_id), (horse_id, practitioner_id)) ORDER BY horse_id, reader NULLS FIRST, is_all`;
}

/** Rows of each reader, those of all together under null. */
function rowsByReader(counted: Table): Map<string | null, number[]> {
  const reader = texts(counted, 'reader');
  const rows = new Map<string | null, number[]>([[null, []]]);
  numbers(counted, 'is_all').forEach((isAll, row) => {
    const of = isAll === 1 ? null : reader[row];
    if (of === undefined || (of === null && isAll !== 1)) return;
    const known = rows.get(of);
    if (known) known.push(row);
    else rows.set(of, [row]);
  });
  return rows;
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
