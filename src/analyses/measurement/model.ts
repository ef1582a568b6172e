import { type Estimate, isUnavailable, type Outcome, unavailable } from '../../core/outcome.ts';
import { numbers, type Table } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import { clusteredSpread, robustSd } from '../../stats/clustered-spread.ts';
import { nestedFitted } from '../../stats/nested-fitted.ts';
import { meanRate } from '../../stats/nested-predict.ts';
import type { NestedSlopesFit } from '../../stats/nested-slopes.ts';
import { repeatabilityOfVariance } from '../../stats/repeatability.ts';
import type { AskContext } from '../analysis.ts';
import type { PlacedRows } from '../cycle-columns.ts';
import { chosenCycles, cycleTable, endedAsk, groupAsk } from '../cycle-table.ts';
import { inOrder } from '../foot-order.ts';
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
  readonly fit: NestedSlopesFit;
  readonly counts: Counts;
  /** mm or ° per 30 days, the herd's mean. */
  readonly herdRate: number;
  readonly robust: number;
  readonly where: string;
  readonly errors: readonly ReadingError[];
  readonly notes: readonly ReturnType<typeof unavailable>[];
}

/** The changes themselves, which are not needed any more once those out of line are found. */
export interface ModelRows {
  readonly rows: GrowthRows;
  readonly residual: Float64Array;
  readonly visitDay: Float64Array;
  readonly nextDay: Float64Array;
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
): Promise<Outcome<{ readonly model: ModelAnswer; readonly changes: ModelRows }>> {
  const plain: GrowthOptions = { measure: measured.model!, by: 'none', adjust: [] };
  const { kept } = await recordedInCycles(context, growthConditions(plain), growthWhere(plain), ['terrain']);
  const options: GrowthOptions = { ...plain, adjust: [...kept] };
  const { rows, nextDay, readers } = await changesOf(options, written, next, context);
  const { design, fit } = fitBest(rows, options);
  if (isUnavailable(fit))
    return unavailable(fit.unavailable, `the error of reading ${measured.words}: ${fit.sentence}`);
  const data = { days: rows.days, x: design.x, cluster: rows.horse, unit: rows.foot };
  const residual = lessThan(rows.amount, nestedFitted(data, fit));
  const where = growthRowsWhere(options);
  return {
    model: {
      measured,
      fit,
      counts: rows.counts,
      herdRate: meanRate(fit, herdPoint(design)).estimate,
      robust: robustSd(residual),
      where,
      ...readingErrors(rows, fit, residual, where, readers),
    },
    changes: { rows, residual, visitDay: lessThan(nextDay, rows.days), nextDay },
  };
}

/** By itself, so that the columns which they are taken from do not stand beside their fit. */
async function changesOf(
  options: GrowthOptions,
  written: WrittenVisits,
  next: Int32Array,
  context: AskContext,
): Promise<Pick<ModelRows, 'rows' | 'nextDay'> & { readonly readers: Coded }> {
  const { columns, where } = growthAsk(options);
  const ask = { columns: { ...columns, ended: endedAsk, reader: groupAsk('practitioner_id') }, where };
  const table = await cycleTable(context, ask);
  const cycles = await chosenCycles(context, ask);
  return {
    rows: gatherGrowth(table),
    nextDay: numbers(table, 'ended'),
    readers: readersOf(table, cycles, written.reader.levels, next),
  };
}

/** The first values less the others. */
function lessThan(values: Float64Array, others: Float64Array): Float64Array {
  const found = new Float64Array(values.length);
  for (let row = 0; row < found.length; row++) found[row] = values[row]! - others[row]!;
  return found;
}

/** Of each row, the practitioner who read both its ends; −1 where two did, or one is not named. */
function readersOf(
  table: Table,
  { keep, given, order }: PlacedRows & { readonly keep: Uint32Array },
  nextLevels: readonly string[],
  next: Int32Array,
): Coded {
  const { levels, codes } = codeColumn(table, 'reader');
  const place = Int32Array.from(nextLevels, (level) => levels.indexOf(level));
  const both = new Int32Array(codes.length).fill(-1);
  for (let k = 0; k < codes.length; k++) {
    const [at, first] = [keep[k]!, codes[k]!];
    if (first >= 0 && place[next[given[order ? order[at]! : at]!] ?? -1] === first) both[k] = first;
  }
  return seenLevels({ levels, codes: both });
}

function readingErrors(
  rows: GrowthRows,
  fit: NestedSlopesFit,
  residual: Float64Array,
  where: string,
  readers: Coded,
): Pick<ModelAnswer, 'errors' | 'notes'> {
  let squares = 0;
  for (let row = 0; row < residual.length; row++) squares += residual[row]! * residual[row]!;
  const meanSquare = squares / residual.length;
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
    const at = Uint32Array.from(own);
    const sd = clusteredSpread(inOrder(residual, at), inOrder(rows.horse, at), scale);
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
