import { type Estimate, isUnavailable, type Outcome, unavailable } from '../../core/outcome.ts';
import { numbers, type Table } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import { clusteredSpread, robustSd } from '../../stats/clustered-spread.ts';
import { nestedFitted } from '../../stats/nested-fitted.ts';
import { meanRate } from '../../stats/nested-predict.ts';
import type { NestedSlopesFit } from '../../stats/nested-slopes.ts';
import { repeatabilityOfVariance } from '../../stats/repeatability.ts';
import type { AskContext } from '../analysis.ts';
import { cycleTable, endedAsk, numberAsk } from '../cycle-table.ts';
import type { Counts } from '../format.ts';
import { allOf, type Coded, codeColumn, countOf, rowsByLevel, seenLevels } from '../groups.ts';
import {
  type GrowthRows,
  gatherGrowth,
  growthAsk,
  growthConditions,
  growthRowsWhere,
  growthWhere,
} from '../growth/data.ts';
import { herdPoint } from '../growth/design.ts';
import { fitBest } from '../growth/fit.ts';
import type { GrowthOptions } from '../growth/options.ts';
import { recordedInCycles } from '../recorded.ts';
import type { Measured } from './options.ts';
import type { WrittenVisits } from './readings.ts';

/** Two readings, one at each end, make a change: each carries half the variance. */
const BOTH_ENDS = 1 / 2;
/** Fewer changes, or horses, of one practitioner than this say too little of how they read. */
const FEWEST_CYCLES = 20;
const FEWEST_HORSES = 4;

/** Error of one reading, by whom. */
interface ReadingError {
  readonly level: string;
  readonly sd: Estimate;
  readonly counts: Counts;
  readonly where: string;
}

/** Changes between trims of one measure, with what each foot's own growth would give. */
export interface ModelAnswer {
  readonly measured: Measured;
  readonly rows: GrowthRows;
  readonly fit: NestedSlopesFit;
  /** mm or ° per 30 days, the herd's mean. */
  readonly herdRate: number;
  readonly residual: Float64Array;
  readonly robust: number;
  readonly visitDay: Float64Array;
  readonly nextDay: Float64Array;
  readonly where: string;
  readonly errors: readonly ReadingError[];
  readonly notes: readonly ReturnType<typeof unavailable>[];
}

/** Who read a cycle's end: the practitioner of the foot's next row. */
const NEXT_READER = `(SELECT row_key, any_value(next_reader) AS next_reader FROM (
    SELECT row_key, lead(practitioner_id) OVER (PARTITION BY horse_id, foot ORDER BY visit_date, source_file, source_line) AS next_reader
    FROM foot_visit) GROUP BY row_key)`;

/** The condition that one practitioner read both ends of a cycle. */
function bothEndsBy(name: string): string {
  const quoted = literal(name);
  return `practitioner_id = ${quoted} AND row_key IN (SELECT row_key FROM ${NEXT_READER} WHERE next_reader = ${quoted})`;
}

export async function modelAnswer(
  measured: Measured,
  written: WrittenVisits,
  next: Int32Array,
  context: AskContext,
): Promise<Outcome<ModelAnswer>> {
  const plain: GrowthOptions = { measure: measured.model!, by: 'none', adjust: [] };
  const { kept } = await recordedInCycles(context, growthConditions(plain), growthWhere(plain), ['terrain']);
  const options: GrowthOptions = { ...plain, adjust: [...kept] };
  const { columns, where } = growthAsk(options);
  const table = await cycleTable(context, {
    columns: {
      ...columns,
      ended: endedAsk,
      reader: { kind: 'text', sql: 'practitioner_id' },
      row_no: numberAsk('row_no'),
    },
    where,
  });
  const rows = gatherGrowth(table);
  const { design, fit } = fitBest(rows, options);
  if (isUnavailable(fit))
    return unavailable(fit.unavailable, `the error of reading ${measured.words}: ${fit.sentence}`);
  const data = { days: rows.days, x: design.x, cluster: rows.horse, unit: rows.foot };
  const fitted = nestedFitted(data, fit);
  const residual = rows.amount.map((value, row) => value - fitted[row]!);
  const nextDay = numbers(table, 'ended');
  const condition = growthRowsWhere(options);
  return {
    measured,
    rows,
    fit,
    herdRate: meanRate(fit, herdPoint(design)).estimate,
    residual,
    robust: robustSd(residual),
    visitDay: nextDay.map((day, row) => day - rows.days[row]!),
    nextDay,
    where: condition,
    ...readingErrors(rows, fit, residual, condition, readersOf(table, written.reader.levels, next)),
  };
}

/** Of each row, the practitioner who read both its ends; −1 where two did, or one is not named. */
function readersOf(table: Table, nextLevels: readonly string[], next: Int32Array): Coded {
  const { levels, codes } = codeColumn(table, 'reader');
  const row = numbers(table, 'row_no');
  const place = Int32Array.from(nextLevels, (level) => levels.indexOf(level));
  return seenLevels({
    levels,
    codes: codes.map((first, k) => (first >= 0 && place[next[row[k]!] ?? -1] === first ? first : -1)),
  });
}

function readingErrors(
  rows: GrowthRows,
  fit: NestedSlopesFit,
  residual: Float64Array,
  where: string,
  readers: Coded,
): Pick<ModelAnswer, 'errors' | 'notes'> {
  const meanSquare = residual.reduce((sum, r) => sum + r * r, 0) / residual.length;
  // What fitting each foot's own rate has taken out of the residuals is put back.
  const scale = (BOTH_ENDS * fit.variances.residual) / meanSquare;
  const all = clusteredSpread(residual, rows.horse, scale);
  const freedom = Math.max(1, fit.nRows - fit.nUnits - fit.beta.length);
  const whole = isUnavailable(all)
    ? repeatabilityOfVariance(BOTH_ENDS * fit.variances.residual, freedom).withinSd
    : all;
  const errors: ReadingError[] = [{ level: 'all', sd: whole, counts: rows.counts, where }];
  const notes: ReturnType<typeof unavailable>[] = [];
  const rowsOf = rowsByLevel(readers);
  readers.levels.forEach((level, k) => {
    const own = rowsOf[k]!;
    const counts = countOf(rows.horse, rows.foot, own);
    const sd = clusteredSpread(
      Float64Array.from(own, (row) => residual[row]!),
      Int32Array.from(own, (row) => rows.horse[row]!),
      scale,
    );
    if (counts.cycles < FEWEST_CYCLES || counts.horses < FEWEST_HORSES || isUnavailable(sd)) {
      notes.push(
        unavailable(
          'no-rows',
          `too few trim cycles have both ends read by ${level} to tell how ${level} reads (at least ${FEWEST_CYCLES} of ${FEWEST_HORSES} horses are asked for).`,
        ),
      );
    } else errors.push({ level, sd, counts, where: allOf(where, bothEndsBy(level)) });
  });
  return { errors, notes };
}
