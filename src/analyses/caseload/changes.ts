import { type Estimate, isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { numbers, type Table, texts } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { PROBLEMS, type ProblemKey, problemLabel } from '../../herd/problems.ts';
import {
  type ClusteredOutcomes,
  type ClusteredShare,
  clusteredContrast,
  clusteredShare,
} from '../../stats/design-effect.ts';
import type { AnalysisContext } from '../analysis.ts';
import { FEWEST_COMPARED } from '../few-horses.ts';
import type { Counts } from '../format.ts';
import { allOf, codeColumn, countOf } from '../groups.ts';

/** Three-month seasons counted on end; that of December begins with it. */
const QUARTER = '(year(visit_date + INTERVAL 1 MONTH) * 4 + (month(visit_date) % 12) // 3)';

export const AGAINST = { 1: 'the season before', 4: 'the same season a year earlier' } as const;
type Apart = 1 | 4;

export interface SeasonShare {
  /** `autumn 2026` */
  readonly season: string;
  readonly share: ClusteredShare;
  readonly counts: Counts;
  readonly where: string;
}

/** A share of graded foot visits in the latest season on record, less that of an earlier one. */
export interface Change {
  readonly problem: ProblemKey;
  readonly apart: Apart;
  readonly now: SeasonShare;
  readonly before: SeasonShare;
  /** In points of per cent. */
  readonly difference: Estimate;
  readonly counts: Counts;
  readonly where: string;
}

interface Season {
  readonly name: string;
  readonly outcomes: ClusteredOutcomes;
  readonly rows: readonly number[];
  readonly where: string;
}

export async function changesOf(
  context: Pick<AnalysisContext, 'engine' | 'signal'>,
): Promise<{ changes: Change[]; refused: Unavailable[] }> {
  const changes: Change[] = [];
  const refused: Unavailable[] = [];
  const latest = numbers(
    await context.engine.query(`SELECT max(${QUARTER})::DOUBLE AS q FROM foot_visit`, context.signal),
    'q',
  )[0];
  if (latest === undefined || Number.isNaN(latest)) return { changes, refused };
  const few = new Map<Apart, ProblemKey[]>();
  const visits = await context.engine.query(visitsSql(latest), context.signal);
  for (const { key } of PROBLEMS) {
    for (const one of changesOfProblem(key, latest, visits)) {
      if ('few' in one) few.set(one.few, [...(few.get(one.few) ?? []), key]);
      else if (isUnavailable(one)) refused.push(one);
      else changes.push(one);
    }
  }
  for (const [apart, problems] of few) refused.push(unavailable('no-rows', tooFew(problems, apart)));
  return { changes, refused };
}

/** A condition on the date alone, which the engine answers without working each row's season out. */
const within = (quarter: number): string =>
  `visit_date >= DATE ${literal(firstDay(quarter))} AND visit_date < DATE ${literal(firstDay(quarter + 1))}`;

function firstDay(quarter: number): string {
  const [year, season] = [Math.floor(quarter / 4), quarter % 4];
  return season === 0 ? `${year - 1}-12-01` : `${year}-${String(3 * season).padStart(2, '0')}-01`;
}

/** Foot visits of the seasons compared, in whatever order they are kept: what is made of them are sums. */
function visitsSql(latest: number): string {
  return `SELECT ${QUARTER}::DOUBLE AS quarter, season || ' ' || year(visit_date + INTERVAL 1 MONTH)::VARCHAR AS season,
      horse_id, foot_key,
      ${PROBLEMS.map(({ key, column }) => `(${quoteName(column)} >= 1)::DOUBLE AS ${key}`).join(', ')}
    FROM foot_visit WHERE ${[latest, latest - 1, latest - 4].map((q) => `(${within(q)})`).join(' OR ')}`;
}

function changesOfProblem(
  problem: ProblemKey,
  latest: number,
  visits: Table,
): (Change | Unavailable | { readonly few: Apart })[] {
  const column = quoteName(PROBLEMS.find(({ key }) => key === problem)!.column);
  const inQuarters = (asked: readonly number[]): string =>
    allOf(`${column} IS NOT NULL`, `${QUARTER} IN (${asked.map((q) => literal(q)).join(', ')})`);
  const horse = codeColumn(visits, 'horse_id').codes;
  const foot = codeColumn(visits, 'foot_key').codes;
  const [quarter, present, names] = [
    numbers(visits, 'quarter'),
    numbers(visits, problem),
    texts(visits, 'season'),
  ];
  const seasonOf = (asked: number): Season | null => {
    const rows = Array.from(quarter.keys()).filter(
      (row) => quarter[row] === asked && !Number.isNaN(present[row]!),
    );
    if (new Set(rows.map((row) => horse[row])).size < FEWEST_COMPARED) return null;
    return {
      name: names[rows[0]!]!,
      outcomes: {
        success: Uint8Array.from(rows, (row) => present[row]!),
        cluster: Int32Array.from(rows, (row) => horse[row]!),
      },
      rows,
      where: inQuarters([asked]),
    };
  };
  const now = seasonOf(latest);
  return ([1, 4] as const).map((apart) => {
    const before = seasonOf(latest - apart);
    if (!now || !before) return { few: apart };
    const [nowShare, beforeShare] = [clusteredShare(now.outcomes), clusteredShare(before.outcomes)];
    const contrast = clusteredContrast(now.outcomes, before.outcomes);
    if (isUnavailable(contrast) || isUnavailable(nowShare) || isUnavailable(beforeShare)) {
      const why = [contrast, nowShare, beforeShare].find(isUnavailable) as Unavailable;
      return unavailable(
        why.unavailable,
        `${problemLabel(problem)}, against ${AGAINST[apart]}: ${why.sentence}`,
      );
    }
    const told = ({ name, rows, where }: Season, share: ClusteredShare): SeasonShare => ({
      season: name,
      share,
      counts: countOf(horse, foot, rows),
      where,
    });
    return {
      problem,
      apart,
      now: told(now, nowShare),
      before: told(before, beforeShare),
      difference: inPoints(contrast.difference),
      counts: countOf(horse, foot, [...now.rows, ...before.rows]),
      where: inQuarters([latest, latest - apart]),
    };
  });
}

const inPoints = ({ estimate, stdError, low, high }: Estimate): Estimate => ({
  estimate: estimate * 100,
  stdError: stdError === null ? null : stdError * 100,
  low: low * 100,
  high: high * 100,
});

const tooFew = (problems: readonly ProblemKey[], apart: Apart): string =>
  `too few horses were graded to set the latest season against ${AGAINST[apart]}: ${problems.map(problemLabel).join(', ')}.`;
