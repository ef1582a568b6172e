import { quoteName } from '../../engine/sql-text.ts';
import type { AskContext } from '../analysis.ts';
import type { ColumnAsk } from '../cycle-columns.ts';
import { cohortVisits } from '../visit-rows.ts';

/** A measure that some foot visits lack, and the answers that are the weaker for it. */
export interface Gap {
  readonly measure: string;
  readonly weakens: string;
  readonly missing: number;
  readonly of: number;
  readonly where: string;
}

interface Wanted {
  readonly measure: string;
  readonly column: string;
  readonly weakens: string;
  /** Of which foot visits; all if left out. */
  readonly among?: string;
}

const WANTED: readonly Wanted[] = [
  { measure: 'Toe after the trim', column: 'toe_after_mm', weakens: 'growth, plan, grow-out' },
  { measure: 'Toe before the trim', column: 'toe_before_mm', weakens: 'growth, plan, grow-out' },
  { measure: 'Separation', column: 'separation_grade', weakens: 'return, interval, plan' },
  {
    measure: 'Height of a separation',
    column: 'separation_height_mm',
    weakens: 'grow-out',
    among: 'separation_grade >= 1',
  },
  {
    measure: 'Distance of a separation from the white line',
    column: 'separation_to_white_line_mm',
    weakens: 'handling separated wall',
    among: "separation_site = 'within_wall'",
  },
  { measure: 'Frog infection', column: 'fungal_frog_grade', weakens: 'return, interval, plan' },
  { measure: 'Wall infection', column: 'fungal_wall_grade', weakens: 'return, interval, plan' },
  { measure: 'Crack', column: 'crack_grade', weakens: 'return, entry points' },
  { measure: 'Start of a crack', column: 'crack_origin', weakens: 'grow-out', among: 'crack_grade >= 1' },
  { measure: 'Tenderness', column: 'sensitivity', weakens: 'sole protection' },
  { measure: 'Sole depth', column: 'sole_depth_mm', weakens: 'sole protection' },
  { measure: 'What the foot left in', column: 'protection', weakens: 'sole protection' },
  { measure: 'Ground', column: 'terrain', weakens: 'growth, plan, sole protection' },
  { measure: 'Moisture', column: 'moisture', weakens: 'plan, interval' },
  { measure: 'Breed type', column: 'breed_type', weakens: 'growth, plan, sole protection' },
  { measure: 'Client', column: 'client_id', weakens: 'clients, today’s round' },
];

/** Of each row a whole number whose bits say, measure after measure, whether it is asked for there and whether it is missing. */
const ROW_GAPS: ColumnAsk = {
  kind: 'number',
  sql: WANTED.flatMap(({ column, among }, k) => [
    `${2 ** (2 * k)} * ${among ? `coalesce((${among}), FALSE)` : 'TRUE'}::INTEGER::BIGINT`,
    `${2 ** (2 * k + 1)} * (${quoteName(column)} IS NULL)::INTEGER::BIGINT`,
  ]).join(' + '),
};

/** Those that are missing somewhere, the largest share first. */
export async function gapsOf(context: AskContext): Promise<Gap[]> {
  const { places, columns } = await cohortVisits(context, [ROW_GAPS]);
  const counted = countGaps(columns[0] as Float64Array, places);
  return WANTED.map(
    ({ measure, weakens, column, among }, k): Gap => ({
      measure,
      weakens,
      missing: counted[k]!.missing,
      of: counted[k]!.of,
      where: `${among ? `${among} AND ` : ''}${quoteName(column)} IS NULL`,
    }),
  )
    .filter(({ missing }) => missing > 0)
    .sort((a, b) => b.missing / b.of - a.missing / a.of || (a.measure < b.measure ? -1 : 1));
}

/** Rows mostly lack the same things as many others: their bits are read once for all that do. */
function countGaps(gaps: Float64Array, places: Uint32Array): { of: number; missing: number }[] {
  const rows = new Map<number, number>();
  for (const row of places) rows.set(gaps[row]!, (rows.get(gaps[row]!) ?? 0) + 1);
  const counted = WANTED.map(() => ({ of: 0, missing: 0 }));
  for (const [bits, n] of rows) {
    for (const [k, count] of counted.entries()) {
      const here = Math.floor(bits / 2 ** (2 * k)) % 4;
      if (here % 2 === 0) continue;
      count.of += n;
      if (here === 3) count.missing += n;
    }
  }
  return counted;
}
