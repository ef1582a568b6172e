import { isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { numbers, type Table, texts } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { PROBLEMS, type ProblemKey, problemLabel } from '../../herd/problems.ts';
import { type ClusteredOutcomes, type ClusteredShare, clusteredShare } from '../../stats/design-effect.ts';
import type { AnalysisContext } from '../analysis.ts';
import type { Counts } from '../format.ts';
import { allOf, codeColumn, countOf, groupingName, groupSql } from '../groups.ts';
import type { PrevalenceOptions } from './options.ts';

/** Rows of one problem and level: foot visits, or feet as last graded. */
export interface LevelRows {
  readonly problem: ProblemKey;
  readonly level: string;
  readonly outcomes: ClusteredOutcomes;
  readonly counts: Counts;
  readonly affected: number;
  /** Feet met, for counting a level together with another. */
  readonly feet: ReadonlySet<number>;
  readonly where: string;
}

export interface Share extends LevelRows {
  readonly share: ClusteredShare;
}

/** Quarter of a visit by meteorological season: `2025 winter` begins on 1 December 2024. */
const QUARTER = `((CASE WHEN month(visit_date) = 12 THEN year(visit_date) + 1 ELSE year(visit_date) END)::VARCHAR || ' ' || season)`;
const QUARTER_START = "(date_trunc('quarter', visit_date + INTERVAL 1 MONTH) - INTERVAL 1 MONTH)::DATE";

/** SQL of the level of a row. */
function levelSql({ by }: PrevalenceOptions): string {
  if (by === 'none') return "'all'";
  return by === 'quarter' ? QUARTER : `${groupSql(by)}::VARCHAR`;
}

/** The condition of the rows of a problem; with levels, of those levels. */
export function sharesWhere(
  problem: ProblemKey,
  options: PrevalenceOptions,
  levels: readonly string[] = [],
): string {
  const column = quoteName(PROBLEMS.find(({ key }) => key === problem)!.column);
  const latest = `(foot_key, visit_date) IN (SELECT (foot_key, max(visit_date)) FROM foot_visit WHERE ${column} IS NOT NULL GROUP BY foot_key)`;
  return allOf(
    `${column} IS NOT NULL`,
    options.at === 'latest' ? latest : null,
    options.by === 'none' ? null : `${levelSql(options)} IS NOT NULL`,
    options.by === 'none' || levels.length === 0
      ? null
      : `${levelSql(options)} IN (${levels.map((level) => literal(level)).join(', ')})`,
  );
}

/** The condition of the rows of any of the problems, whatever their level. */
export function gradedWhere(options: PrevalenceOptions): string {
  const each = options.problems.map((problem) => sharesWhere(problem, { ...options, by: 'none' }));
  return each.map((where) => `(${where})`).join(' OR ');
}

/** The rows of every level of one problem, levels in the order of time for quarters, else of the alphabet. */
export async function levelRows(
  problem: ProblemKey,
  options: PrevalenceOptions,
  { engine, signal }: AnalysisContext,
): Promise<LevelRows[]> {
  const { column } = PROBLEMS.find(({ key }) => key === problem)!;
  const level = levelSql(options);
  const order = options.by === 'none' ? '' : `${options.by === 'quarter' ? QUARTER_START : level}, `;
  const table: Table = await engine.query(
    `SELECT ${level} AS level, horse_id, foot_key, (${quoteName(column)} >= 1)::INTEGER AS present
     FROM foot_visit WHERE ${sharesWhere(problem, options)} ORDER BY ${order}horse_id, foot_key, visit_date`,
    signal,
  );
  const horse = codeColumn(table, 'horse_id').codes;
  const foot = codeColumn(table, 'foot_key').codes;
  const present = numbers(table, 'present');
  const rows = new Map<string, number[]>();
  texts(table, 'level').forEach((name, row) => {
    if (name === null) return;
    const known = rows.get(name);
    if (known) known.push(row);
    else rows.set(name, [row]);
  });
  return Array.from(rows, ([name, keep]) => ({
    problem,
    level: name,
    outcomes: {
      success: Uint8Array.from(keep, (row) => present[row]!),
      cluster: Int32Array.from(keep, (row) => horse[row]!),
    },
    counts: countOf(horse, foot, keep),
    affected: keep.reduce((sum, row) => sum + present[row]!, 0),
    feet: new Set(keep.map((row) => foot[row]!)),
    where: sharesWhere(problem, options, [name]),
  }));
}

/** Distinct horses and feet of several levels of one problem, and all their rows: a horse may be in more than one. */
export function countsOfLevels(levels: readonly LevelRows[]): Counts {
  const horses = new Set<number>();
  const feet = new Set<number>();
  for (const level of levels) {
    for (const horse of level.outcomes.cluster) horses.add(horse);
    for (const foot of level.feet) feet.add(foot);
  }
  return {
    horses: horses.size,
    feet: feet.size,
    cycles: levels.reduce((sum, { counts }) => sum + counts.cycles, 0),
  };
}

/** The share of each level; those without one, each with its sentence. */
export function sharesOf(
  rows: readonly LevelRows[],
  problem: ProblemKey,
  { by }: PrevalenceOptions,
): { shares: Share[]; refused: Unavailable[] } {
  const shares: Share[] = [];
  const refused: Unavailable[] = [];
  for (const level of rows) {
    const share = clusteredShare(level.outcomes);
    if (isUnavailable(share)) {
      const who =
        by === 'none' ? '' : `, ${by === 'quarter' ? level.level : `${groupingName(by)} ${level.level}`}`;
      refused.push(unavailable(share.unavailable, `${problemLabel(problem)}${who}: ${share.sentence}`));
    } else shares.push({ ...level, share });
  }
  if (rows.length === 0) {
    const where = by === 'none' || by === 'quarter' ? 'here' : `where ${groupingName(by)} is recorded`;
    refused.push(unavailable('no-rows', `${problemLabel(problem)} was not graded at any visit ${where}.`));
  }
  return { shares, refused };
}

/** `2025 autumn` as people say it. */
export function quarterWords(level: string): string {
  const [year, season] = level.split(' ');
  return `${season} ${year}`;
}

/** The same season a year earlier. */
export function yearBefore(level: string): string {
  const [year, season] = level.split(' ');
  return `${Number(year) - 1} ${season}`;
}
