import type { CivilDay } from '../../core/civil-day.ts';
import { numbers, type Table, texts } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import { PROBLEMS } from '../../herd/problems.ts';
import { footOrder } from '../../herd/relations.ts';
import { MOISTURES, TERRAINS } from '../../herd/vocabularies.ts';
import { type AnalysisContext, type AskContext, remembered } from '../analysis.ts';
import { PLANNED_PROBLEMS, type PlannedProblem } from './options.ts';

/** What a problem's risk is told by, with the season of the cycle. */
export const RISK_GROUPS = ['breed_type', 'terrain', 'moisture'] as const;
type RiskGroup = (typeof RISK_GROUPS)[number];

export interface FootNow {
  readonly key: string;
  readonly foot: string;
  /** 1 present, 0 clear at the last visit; NaN where not graded. */
  readonly state: Readonly<Record<PlannedProblem, number>>;
  readonly groups: Readonly<Record<RiskGroup, string | null>>;
}

/** A horse as it stood at its last visit; feet not seen then are left out. */
export interface HorseNow {
  readonly id: string;
  readonly name: string | null;
  readonly client: string | null;
  readonly lastVisit: CivilDay;
  readonly feet: readonly FootNow[];
  /** Median days of its unflagged cycles; null without one. */
  readonly usualDays: number | null;
  readonly nCycles: number;
}

const columnOf = (problem: PlannedProblem): string => PROBLEMS.find(({ key }) => key === problem)!.column;

/** The latest recorded level; of two on one day the last by the alphabet. By number: to put texts together takes long. */
function latest(column: string, levels: readonly string[]): string {
  const places = [...levels].sort().map((level, k) => `WHEN ${literal(level)} THEN ${k}`);
  return `arg_max(${column}, (visit_date - DATE '1970-01-01') * ${levels.length} + CASE ${column} ${places.join(' ')} END)`;
}

/** One row a foot of a horse's last visit. Ground and moisture are the latest recorded. */
const HORSES_SQL = `
  WITH known AS (
    SELECT foot_key,
      ${latest('terrain', TERRAINS)} AS terrain, ${latest('moisture', MOISTURES)} AS moisture
    FROM foot_visit GROUP BY foot_key
  ), last_seen AS (
    SELECT horse_id, max(visit_date) AS last_visit FROM foot_visit GROUP BY horse_id
  ), usual AS (
    SELECT horse_id, median(days)::DOUBLE AS usual_days, count(*)::DOUBLE AS n_cycles
    FROM trim_cycle WHERE flag IS NULL GROUP BY horse_id
  )
  SELECT v.horse_id, v.horse_name, v.client_id, v.visit_date, v.foot_key, v.foot,
    v.breed_type::VARCHAR AS breed_type, k.terrain::VARCHAR AS terrain, k.moisture::VARCHAR AS moisture,
    ${PLANNED_PROBLEMS.map((problem) => `(v.${columnOf(problem)} >= 1)::DOUBLE AS ${problem}`).join(', ')},
    u.usual_days, coalesce(u.n_cycles, 0) AS n_cycles
  FROM foot_visit v
  JOIN last_seen l ON l.horse_id = v.horse_id AND l.last_visit = v.visit_date
  JOIN known k ON k.foot_key = v.foot_key
  LEFT JOIN usual u ON u.horse_id = v.horse_id
  QUALIFY row_number() OVER (PARTITION BY v.foot_key ORDER BY v.source_file DESC, v.source_line DESC) = 1
  ORDER BY v.horse_id, ${footOrder('v.foot')}`;

export async function horsesNow(context: AskContext): Promise<HorseNow[]> {
  return remembered(context, 'horses now', async () =>
    gatherHorses(await context.engine.query(HORSES_SQL, context.signal)),
  );
}

function gatherHorses(table: Table): HorseNow[] {
  const text = (name: string) => texts(table, name);
  const [ids, names, clients, keys, feet] = [
    text('horse_id'),
    text('horse_name'),
    text('client_id'),
    text('foot_key'),
    text('foot'),
  ];
  const groups = RISK_GROUPS.map((group) => [group, text(group)] as const);
  const states = PLANNED_PROBLEMS.map((problem) => [problem, numbers(table, problem)] as const);
  const [days, usual, cycles] = [
    numbers(table, 'visit_date'),
    numbers(table, 'usual_days'),
    numbers(table, 'n_cycles'),
  ];
  const horses: (HorseNow & { readonly feet: FootNow[] })[] = [];
  for (let row = 0; row < table.rowCount; row += 1) {
    const foot: FootNow = {
      key: keys[row]!,
      foot: feet[row]!,
      state: Object.fromEntries(states.map(([problem, at]) => [problem, at[row]!])) as FootNow['state'],
      groups: Object.fromEntries(groups.map(([group, at]) => [group, at[row] ?? null])) as FootNow['groups'],
    };
    const last = horses.at(-1);
    if (last && last.id === ids[row]) {
      last.feet.push(foot);
      continue;
    }
    horses.push({
      id: ids[row]!,
      name: names[row] ?? null,
      client: clients[row] ?? null,
      lastVisit: days[row]! as CivilDay,
      feet: [foot],
      usualDays: Number.isNaN(usual[row]!) ? null : Math.round(usual[row]!),
      nCycles: cycles[row]!,
    });
  }
  return horses;
}

/** The season of a day, by the quarter of the year that begins with December; null where the records show no such quarter. */
export type SeasonOf = (month: number) => string | null;

/** As the herd's own visits name them, so that north and south need not be told here. */
export async function seasonsOf({
  engine,
  signal,
}: Pick<AnalysisContext, 'engine' | 'signal'>): Promise<SeasonOf> {
  const table = await engine.query(
    `SELECT ((month(visit_date) % 12) // 3)::DOUBLE AS quarter, any_value(season)::VARCHAR AS season
     FROM foot_visit GROUP BY quarter ORDER BY quarter`,
    signal,
  );
  const named = new Map(
    texts(table, 'season').map((season, row) => [numbers(table, 'quarter')[row]!, season]),
  );
  return (month) => named.get(Math.floor((month % 12) / 3)) ?? null;
}
