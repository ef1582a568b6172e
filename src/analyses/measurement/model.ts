import { type Estimate, isUnavailable, type Outcome, unavailable } from '../../core/outcome.ts';
import { numbers, type Table, texts } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { clusteredSpread, robustSd } from '../../stats/clustered-spread.ts';
import { nestedFitted } from '../../stats/nested-fitted.ts';
import { meanRate } from '../../stats/nested-predict.ts';
import type { NestedSlopesFit } from '../../stats/nested-slopes.ts';
import { repeatabilityOfVariance } from '../../stats/repeatability.ts';
import type { AnalysisContext } from '../analysis.ts';
import { footOrder, inOrder } from '../foot-order.ts';
import type { Counts } from '../format.ts';
import { allOf, code, codeColumn, countOf, groupSql, isKnown } from '../groups.ts';
import { type GrowthRows, gatherGrowth } from '../growth/data.ts';
import { herdPoint } from '../growth/design.ts';
import { fitBest } from '../growth/fit.ts';
import { MEASURES } from '../growth/options.ts';
import { recordedGroupings } from '../recorded.ts';
import type { Measured } from './options.ts';

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

const MODELLED = Object.values(MEASURES).map(({ column }) => column);

/**
 * Routine cycles with every measure that is modelled, missing ones among them, and who read either end: asked for once,
 * since to find who read next takes long. In whatever order they are kept.
 */
export async function readCycles({
  engine,
  signal,
}: Pick<AnalysisContext, 'engine' | 'signal'>): Promise<Table> {
  const amounts = MODELLED.map((column) => `c.${quoteName(column)}::DOUBLE AS ${quoteName(column)}`);
  return engine.query(
    `SELECT c.horse_id, c.horse_name, c.foot_key, c.cycle_number::DOUBLE AS cycle_number, c.days::DOUBLE AS days,
       c.season_cos, c.season_sin, ${amounts.join(', ')}, c.visit_date, c.next_date,
       c.practitioner_id AS reader, n.next_reader, c.${groupSql('terrain')}::VARCHAR AS ground
     FROM (SELECT * FROM trim_cycle WHERE flag IS NULL) c LEFT JOIN ${NEXT_READER} n ON n.row_key = c.row_key`,
    signal,
  );
}

export async function modelAnswer(
  measured: Measured,
  cycles: Table,
  { engine, signal }: Pick<AnalysisContext, 'engine' | 'signal'>,
): Promise<Outcome<ModelAnswer>> {
  const measure = measured.model!;
  const { column } = MEASURES[measure];
  const routine = allOf(`${quoteName(column)} IS NOT NULL`, 'flag IS NULL');
  const { kept } = await recordedGroupings({ engine, signal }, 'trim_cycle', routine, ['terrain']);
  const where = allOf(routine, ...kept.map(isKnown));
  const ground = codeColumn(cycles, 'ground').codes;
  const amount = numbers(cycles, column);
  const feet = codeColumn(cycles, 'foot_key');
  const order = footOrder(feet.codes, numbers(cycles, 'cycle_number'), feet.levels.length).filter(
    (row) => !Number.isNaN(amount[row]!) && (kept.length === 0 || ground[row]! >= 0),
  );
  const { ground: terrain, ...columns } = cycles.columns;
  const table: Table = {
    ...cycles,
    columns: {
      ...columns,
      amount: cycles.columns[column]!,
      ...(kept.length > 0 && { 'by terrain': terrain! }),
    },
  };
  const rows = gatherGrowth(table, { order, groups: new Map() });
  const { design, fit } = fitBest(rows, { measure, by: 'none', adjust: [...kept] });
  if (isUnavailable(fit))
    return unavailable(fit.unavailable, `the error of reading ${measured.words}: ${fit.sentence}`);
  const data = { days: rows.days, x: design.x, cluster: rows.horse, unit: rows.foot };
  const fitted = nestedFitted(data, fit);
  const residual = rows.amount.map((value, row) => value - fitted[row]!);
  return {
    measured,
    rows,
    fit,
    herdRate: meanRate(fit, herdPoint(design)).estimate,
    residual,
    robust: robustSd(residual),
    visitDay: inOrder(numbers(cycles, 'visit_date'), order),
    nextDay: inOrder(numbers(cycles, 'next_date'), order),
    where,
    ...readingErrors(rows, fit, residual, where, readersOf(cycles, order)),
  };
}

/** Of each row, the practitioner who read both its ends; null where two did, or one is not named. */
function readersOf(table: Table, order: Uint32Array): (string | null)[] {
  const [first, last] = [texts(table, 'reader'), texts(table, 'next_reader')];
  return Array.from(order, (row) => {
    const name = first[row] ?? null;
    return name !== null && name === last[row] ? name : null;
  });
}

function readingErrors(
  rows: GrowthRows,
  fit: NestedSlopesFit,
  residual: Float64Array,
  where: string,
  readers: readonly (string | null)[],
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
  const { levels, codes } = code(readers);
  levels.forEach((level, k) => {
    const own = Array.from(codes.keys()).filter((row) => codes[row] === k);
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
