import {
  type Estimate,
  isUnavailable,
  type Outcome,
  type Unavailable,
  unavailable,
} from '../../core/outcome.ts';
import { quoteName } from '../../engine/sql-text.ts';
import { FEET } from '../../herd/vocabularies.ts';
import { clusteredSpread } from '../../stats/clustered-spread.ts';
import {
  type Agreement,
  clusteredAgreement,
  limitsOfAgreement,
  withinSubjectSd,
} from '../../stats/repeatability.ts';
import type { AskContext } from '../analysis.ts';
import { markAsk } from '../cycle-table.ts';
import type { Counts } from '../format.ts';
import { code, countOf } from '../groups.ts';
import { cohortVisits, horseOf, keyOfFoot } from '../visit-rows.ts';
import type { Measured, MeasurementOptions } from './options.ts';
import { type Readings, readingAt, type WrittenVisits } from './readings.ts';

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

/** Rows of visits: the earlier and the later of each pair. */
interface Pairs {
  readonly first: readonly number[];
  readonly second: readonly number[];
  /** Whether the foot seems not to have been trimmed at the earlier. */
  readonly isUntrimmed: Int8Array;
}

/** Neighbouring visits of each foot in the cohort at most `within_days` apart, by horse, by the foot's name, and in time. */
export async function neighbours(
  { visits }: WrittenVisits,
  { within_days }: MeasurementOptions,
  context: AskContext,
): Promise<Pairs> {
  const { places, foot, day } = visits;
  const at: number[] = [];
  for (let i = 0; i + 1 < places.length; i++) {
    const [here, next] = [places[i]!, places[i + 1]!];
    if (foot[here] === foot[next] && day[next]! - day[here]! <= within_days) at.push(i);
  }
  const byName = (i: number): number => NAME_ORDER[foot[places[i]!]! % FEET.length]!;
  const horse = (i: number): number => horseOf(foot[places[i]!]!);
  at.sort((a, b) => horse(a) - horse(b) || byName(a) - byName(b) || a - b);
  const [isUntrimmed] = (await cohortVisits(context, [markAsk(UNTRIMMED)])).columns;
  return {
    first: at.map((i) => places[i]!),
    second: at.map((i) => places[i + 1]!),
    isUntrimmed: isUntrimmed as Int8Array,
  };
}

const NAME_ORDER = FEET.map((foot) => [...FEET].sort().indexOf(foot));

/**
 * Neighbouring readings of each foot at most `within_days` apart with no trim between: after one trim and before the
 * next, or at two visits of which the first had no trim. `ratePer30d` is what the foot is expected to gain meanwhile.
 */
export function repeatsOf(
  measured: Measured,
  ratePer30d: number,
  { within_days }: MeasurementOptions,
  { visits }: WrittenVisits,
  pairs: Pairs,
  readings: readonly Readings[],
): Repeats | null {
  const [before, after] = readings as [Readings, Readings?];
  const firstOf = (row: number): number => {
    const trimmed = after ? readingAt(after, row) : Number.NaN;
    if (!Number.isNaN(trimmed)) return trimmed;
    return pairs.isUntrimmed[row] === 1 ? readingAt(before, row) : Number.NaN;
  };
  const both = Array.from(pairs.first, (row, k) => ({ row, next: pairs.second[k]! })).filter(
    ({ row, next }) => !Number.isNaN(firstOf(row)) && !Number.isNaN(readingAt(before, next)),
  );
  const n = both.length;
  if (n === 0) return null;
  const { foot: footOf, day, horseIds } = visits;
  const first = Float64Array.from(
    both,
    ({ row, next }) => firstOf(row) + (ratePer30d * (day[next]! - day[row]!)) / 30,
  );
  const second = Float64Array.from(both, ({ next }) => readingAt(before, next));
  const horse = code(both.map(({ row }) => horseIds[horseOf(footOf[row]!)]!)).codes;
  const foot = code(both.map(({ row }) => keyOfFoot(horseIds, footOf[row]!))).codes;
  const agreement = clusteredAgreement(second, first, horse);
  return {
    measured,
    counts: countOf(horse, foot, [...both.keys()]),
    where: pairsWhere(measured, within_days),
    sd: withinSd(first, second, horse),
    // Of one horse alone, what can be said takes its pairs as independent.
    agreement:
      isUnavailable(agreement) && agreement.unavailable === 'one-cluster'
        ? limitsOfAgreement(second, first)
        : agreement,
  };
}

/** The rows that the pairs of one measure begin, as a condition over visits. */
function pairsWhere(measured: Measured, within: number): string {
  const before = quoteName(measured.columns[0]);
  const close = `next_date - visit_date <= ${within} AND first_reading IS NOT NULL AND second_reading IS NOT NULL`;
  const pairs = `SELECT horse_id, foot_key, row_key, source_file, source_line, visit_date, next_date, first_reading, second_reading FROM (
      SELECT *, ${firstReading(measured)} AS first_reading,
        lead(visit_date) OVER foot_in_time AS next_date, lead(${before}) OVER foot_in_time AS second_reading
      FROM foot_visit
      WINDOW foot_in_time AS (PARTITION BY horse_id, foot ORDER BY visit_date, source_file, source_line))
    WHERE ${close}`;
  return `${ROW} IN (SELECT ${ROW} FROM (${pairs}))`;
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
