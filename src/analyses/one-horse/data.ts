import { YEAR_DAYS } from '../../core/civil-day.ts';
import { type Cell, numbers, rowsOf, texts } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import { PROBLEMS } from '../../herd/problems.ts';
import { footOrder } from '../../herd/relations.ts';
import { FOOT_LABELS, type Foot } from '../../herd/vocabularies.ts';
import type { AnalysisContext } from '../analysis.ts';
import type { OneHorseOptions } from './options.ts';

/** One foot at one visit, as recorded; its day beside it. A single horse's rows are few. */
export interface FootVisit {
  readonly foot: Foot;
  readonly footKey: string;
  readonly day: number;
  readonly at: Readonly<Record<string, Cell>>;
}

export interface HorseRecord {
  readonly id: string;
  readonly name: string | null;
  readonly client: string | null;
  readonly breedType: string | null;
  /** Every visit of it, foot by foot in the order of the vocabulary, each in time. */
  readonly rows: readonly FootVisit[];
  readonly visits: number;
  readonly firstDay: number;
  readonly lastDay: number;
  /** What the drawings show begins on this day. */
  readonly from: number;
}

const MEASURES = [
  'toe_before_mm',
  'toe_after_mm',
  'heel_before_mm',
  'heel_after_mm',
  'angle_before_deg',
  'angle_after_deg',
  'new_growth_angle_deg',
  'sole_depth_mm',
] as const;

/** Null where the cohort is empty, or has no such horse. */
export async function horseRecord(
  { horse, years }: OneHorseOptions,
  { engine, signal }: Pick<AnalysisContext, 'engine' | 'signal'>,
): Promise<HorseRecord | null> {
  const id = horse === '' ? await mostVisited({ engine, signal }) : horse;
  if (id === null) return null;
  const columns = [...MEASURES, ...PROBLEMS.map(({ column }) => column)].map(
    (name) => `${name}::DOUBLE AS ${name}`,
  );
  const table = await engine.query(
    `SELECT horse_name, client_id, breed_type, foot, foot_key, visit_date, ${columns.join(', ')},
       coronet_injury::INTEGER AS coronet_injury, crack_origin, relief, protection, antifungal::INTEGER AS antifungal
     FROM foot_visit WHERE horse_id = ${literal(id)}
     ORDER BY ${footOrder('foot')}, visit_date, source_file, source_line`,
    signal,
  );
  const days = numbers(table, 'visit_date');
  const [first] = [days[0]];
  if (first === undefined) return null;
  const last = (name: string): string | null =>
    texts(table, name).reduce<string | null>((known, value) => value ?? known, null);
  const lastDay = Math.max(...days);
  return {
    id,
    name: last('horse_name'),
    client: last('client_id'),
    breedType: last('breed_type'),
    rows: rowsOf(table).map((at, row) => ({
      foot: at.foot as Foot,
      footKey: String(at.foot_key),
      day: days[row]!,
      at,
    })),
    visits: new Set(days).size,
    firstDay: Math.min(...days),
    lastDay,
    from: lastDay - years * YEAR_DAYS,
  };
}

async function mostVisited({
  engine,
  signal,
}: Pick<AnalysisContext, 'engine' | 'signal'>): Promise<string | null> {
  const table = await engine.query(
    'SELECT horse_id FROM foot_visit GROUP BY horse_id ORDER BY count(DISTINCT visit_date) DESC, horse_id LIMIT 1',
    signal,
  );
  return texts(table, 'horse_id')[0] ?? null;
}

/** `LF, left fore`: heads the small multiple of a foot. */
export const footTitle = (foot: Foot): string => `${foot}, ${FOOT_LABELS[foot]}`;

export const numberAt = (row: FootVisit, name: string): number | null => {
  const value = row.at[name];
  return typeof value === 'number' ? value : null;
};

/** Visits of the days drawn. */
export const drawnRows = ({ rows, from }: HorseRecord): FootVisit[] => rows.filter(({ day }) => day >= from);

/** The rows of each foot, in time. */
export function byFoot(rows: readonly FootVisit[]): FootVisit[][] {
  const feet = new Map<string, FootVisit[]>();
  for (const row of rows) {
    const known = feet.get(row.foot);
    if (known) known.push(row);
    else feet.set(row.foot, [row]);
  }
  return [...feet.values()];
}
