import {
  type Estimate,
  isUnavailable,
  type Outcome,
  type Unavailable,
  unavailable,
} from '../../core/outcome.ts';
import { numbers, texts } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { clusteredSpread } from '../../stats/clustered-spread.ts';
import {
  type Agreement,
  clusteredAgreement,
  limitsOfAgreement,
  withinSubjectSd,
} from '../../stats/repeatability.ts';
import type { AnalysisContext } from '../analysis.ts';
import type { Counts } from '../format.ts';
import { codeColumn, countOf } from '../groups.ts';
import type { Measured, MeasurementOptions } from './options.ts';

/** Repeated readings of one measure: pairs a few days apart, the second less the growth expected since. */
export interface Repeats {
  readonly measured: Measured;
  readonly counts: Counts;
  /** Cycles that the pairs begin. */
  readonly where: string;
  readonly sd: Outcome<{ readonly withinSd: Estimate; readonly repeatability: Estimate }>;
  readonly agreement: Outcome<Agreement>;
}

/** One row, of a visit given twice either by itself; added rows have no place in a file. */
const ROW = "(row_key, coalesce(source_file, ''), coalesce(source_line, 0))";

/** Nothing was read after: the foot seems to have been looked at and not trimmed. */
const UNTRIMMED = 'toe_after_mm IS NULL AND heel_after_mm IS NULL AND angle_after_deg IS NULL';

/** The first reading of a pair: after the trim, or the only one where there was none. */
function firstReading({ columns }: Measured): string {
  const [before, after] = columns.map((column) => quoteName(column)) as [string, string?];
  const alone = `CASE WHEN ${UNTRIMMED} THEN ${before} END`;
  return after ? `coalesce(${after}, ${alone})` : alone;
}

/** A longer list of horses takes as long to look through as it saves. */
const MOST_LISTED = 2000;

/**
 * The condition of horses that were seen twice within so many days at all: mostly few, so that the readings of all others
 * need not be put in order for every measure.
 */
export async function seenTwice(
  { within_days }: MeasurementOptions,
  { engine, signal }: Pick<AnalysisContext, 'engine' | 'signal'>,
): Promise<string> {
  const table = await engine.query(
    `SELECT DISTINCT horse_id FROM (
       SELECT horse_id, n, lead(visit_date) OVER (PARTITION BY horse_id ORDER BY visit_date) - visit_date AS days
       FROM (SELECT horse_id, visit_date, count(*) - count(DISTINCT foot) AS n FROM foot_visit GROUP BY horse_id, visit_date))
     WHERE days <= ${within_days} OR n > 0 ORDER BY horse_id LIMIT ${MOST_LISTED + 1}`,
    signal,
  );
  if (table.rowCount > MOST_LISTED) return 'TRUE';
  const horses = texts(table, 'horse_id').map((id) => literal(id!));
  return horses.length === 0 ? 'FALSE' : `horse_id IN (${horses.join(', ')})`;
}

/**
 * Neighbouring readings of each foot at most `within_days` apart with no trim between: after one trim and before the
 * next, or at two visits of which the first had no trim. `ratePer30d` is what the foot is expected to gain meanwhile;
 * `among` holds for every horse with such readings (`seenTwice`).
 */
export async function repeatsOf(
  measured: Measured,
  ratePer30d: number,
  { within_days }: MeasurementOptions,
  { engine, signal }: Pick<AnalysisContext, 'engine' | 'signal'>,
  among: string,
): Promise<Repeats | null> {
  const before = quoteName(measured.columns[0]);
  const close = `next_date - visit_date <= ${within_days} AND first_reading IS NOT NULL AND second_reading IS NOT NULL`;
  const pairs = (
    from: string,
  ) => `SELECT horse_id, foot_key, row_key, source_file, source_line, visit_date, next_date, first_reading, second_reading FROM (
      SELECT *, ${firstReading(measured)} AS first_reading,
        lead(visit_date) OVER foot_in_time AS next_date, lead(${before}) OVER foot_in_time AS second_reading
      FROM foot_visit WHERE ${from}
      WINDOW foot_in_time AS (PARTITION BY horse_id, foot ORDER BY visit_date, source_file, source_line))
    WHERE ${close}`;
  const table = await engine.query(
    `SELECT horse_id, foot_key, (next_date - visit_date)::DOUBLE AS days, first_reading::DOUBLE AS first_reading,
       second_reading::DOUBLE AS second_reading
     FROM (${pairs(among)}) ORDER BY horse_id, foot_key, visit_date, source_file, source_line`,
    signal,
  );
  const n = table.rowCount;
  if (n === 0) return null;
  const days = numbers(table, 'days');
  const first = numbers(table, 'first_reading').map((value, row) => value + (ratePer30d * days[row]!) / 30);
  const second = numbers(table, 'second_reading');
  const horse = codeColumn(table, 'horse_id').codes;
  const foot = codeColumn(table, 'foot_key').codes;
  const agreement = clusteredAgreement(second, first, horse);
  return {
    measured,
    counts: countOf(horse, foot, [...days.keys()]),
    where: `${ROW} IN (SELECT ${ROW} FROM (${pairs('TRUE')}))`,
    sd: withinSd(first, second, horse),
    // Of one horse alone, what can be said takes its pairs as independent.
    agreement:
      isUnavailable(agreement) && agreement.unavailable === 'one-cluster'
        ? limitsOfAgreement(second, first)
        : agreement,
  };
}

/** Why readings repeated say nothing of how far they agree. */
export function refusedRepeats({ measured: { label }, agreement }: Repeats): Unavailable[] {
  if (!isUnavailable(agreement)) return [];
  return [unavailable(agreement.unavailable, `${label} read again: ${agreement.sentence}`)];
}

/** Within pairs; where horses have several pairs each, with an interval that allows for those of a horse being alike. */
function withinSd(first: Float64Array, second: Float64Array, horse: Int32Array): Repeats['sd'] {
  const both = new Float64Array([...first, ...second]);
  const n = first.length;
  const plain = withinSubjectSd(
    both,
    Int32Array.from(both.keys(), (i) => i % n),
  );
  if (isUnavailable(plain) || new Set(horse).size === n) return plain;
  const clustered = clusteredSpread(
    second.map((value, i) => value - first[i]!),
    horse,
    1 / 2,
  );
  if (isUnavailable(clustered)) return plain;
  // Neither is the other's better where few horses tell: the wider one.
  const { estimate, low, high } = plain.withinSd;
  const wider: Estimate = {
    estimate,
    stdError: null,
    low: Math.min(low, clustered.low),
    high: Math.max(high, clustered.high),
  };
  const factor = plain.repeatability.estimate / estimate;
  return {
    withinSd: wider,
    repeatability: {
      estimate: factor * estimate,
      stdError: null,
      low: factor * wider.low,
      high: factor * wider.high,
    },
  };
}
