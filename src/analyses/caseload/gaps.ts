import { numbers } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import type { AnalysisContext } from '../analysis.ts';

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

/** Those that are missing somewhere, the largest share first. */
export async function gapsOf({ engine, signal }: Pick<AnalysisContext, 'engine' | 'signal'>): Promise<Gap[]> {
  // To count what is there takes a fraction of counting what is not.
  const counts = WANTED.map(({ column, among }, k) => {
    const where = among ? ` FILTER (WHERE ${among})` : '';
    return `count(*)${where} AS of_${k}, count(${quoteName(column)})${where} AS recorded_${k}`;
  });
  const table = await engine.query(`SELECT ${counts.join(', ')} FROM foot_visit`, signal);
  const at = (name: string): number => numbers(table, name)[0] ?? 0;
  return WANTED.map(
    ({ measure, weakens, column, among }, k): Gap => ({
      measure,
      weakens,
      missing: at(`of_${k}`) - at(`recorded_${k}`),
      of: at(`of_${k}`),
      where: `${among ? `${among} AND ` : ''}${quoteName(column)} IS NULL`,
    }),
  )
    .filter(({ missing }) => missing > 0)
    .sort((a, b) => b.missing / b.of - a.missing / a.of || (a.measure < b.measure ? -1 : 1));
}
