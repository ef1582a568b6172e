import { type Estimate, isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { type ProblemKey, problemLabel } from '../../herd/problems.ts';
import { clusteredContrast } from '../../stats/design-effect.ts';
import type { ResultTable } from '../analysis.ts';
import type { Counts } from '../format.ts';
import { percent } from '../format.ts';
import { behindColumns, countColumns, estimateColumns, SHOWN_COUNTS, shownShares } from '../result-parts.ts';
import type { PrevalenceOptions } from './options.ts';
import { type LevelRows, sharesWhere, yearBefore } from './shares.ts';

/** Share of one level less that of another, horses compared with themselves where they are in both. */
export interface ShareContrastRow {
  readonly problem: ProblemKey;
  readonly level: string;
  readonly against: string;
  readonly difference: Estimate;
  /** Null where a level has no case. */
  readonly ratio: Estimate | null;
  readonly counts: Counts;
  readonly where: string;
}

/** Each level against the one with most rows; each quarter against the same season a year earlier. */
export function shareContrasts(
  rows: readonly LevelRows[],
  problem: ProblemKey,
  options: PrevalenceOptions,
): { contrasts: ShareContrastRow[]; refused: Unavailable[] } {
  const contrasts: ShareContrastRow[] = [];
  const refused: Unavailable[] = [];
  if (options.by === 'none' || rows.length < 2) return { contrasts, refused };
  const named = new Map(rows.map((level) => [level.level, level]));
  const most = rows.reduce((a, b) => (b.counts.cycles > a.counts.cycles ? b : a));
  for (const level of rows) {
    const against = options.by === 'quarter' ? named.get(yearBefore(level.level)) : most;
    if (!against || against === level) continue;
    const contrast = clusteredContrast(level.outcomes, against.outcomes);
    if (isUnavailable(contrast)) {
      refused.push(
        unavailable(
          contrast.unavailable,
          `${problemLabel(problem)}, ${level.level} against ${against.level}: ${contrast.sentence}`,
        ),
      );
      continue;
    }
    const horses = new Set([...level.outcomes.cluster, ...against.outcomes.cluster]);
    contrasts.push({
      problem,
      level: level.level,
      against: against.level,
      difference: contrast.difference,
      ratio: contrast.ratio,
      counts: {
        horses: horses.size,
        feet: new Set([...level.feet, ...against.feet]).size,
        cycles: level.counts.cycles + against.counts.cycles,
      },
      where: sharesWhere(problem, options, [level.level, against.level]),
    });
  }
  return { contrasts, refused };
}

export const contrastTitle = ({ problem, level, against }: ShareContrastRow): string =>
  `${problemLabel(problem)} graded, ${level} and ${against}`;

export function contrastsTable(rows: readonly ShareContrastRow[]): ResultTable {
  return {
    name: 'contrasts',
    title: 'Shares compared',
    relation: 'foot_visit',
    columns: [
      { name: 'problem', label: 'Problem' },
      { name: 'level', label: 'Group' },
      { name: 'against', label: 'Compared with' },
      ...shownShares('Difference of shares'),
      { name: 'ratio', label: 'Ratio', digits: 2 },
      { name: 'ratio_low', label: `${percent(0.95)} from`, digits: 2 },
      { name: 'ratio_high', label: 'to', digits: 2 },
      ...SHOWN_COUNTS.slice(0, 2),
    ],
    table: makeTable({
      problem: textColumn(rows.map((row) => problemLabel(row.problem))),
      level: textColumn(rows.map((row) => row.level)),
      against: textColumn(rows.map((row) => row.against)),
      ...estimateColumns(rows.map((row) => row.difference)),
      ratio: numberColumn(rows.map((row) => row.ratio?.estimate)),
      ratio_low: numberColumn(rows.map((row) => row.ratio?.low)),
      ratio_high: numberColumn(rows.map((row) => row.ratio?.high)),
      ...countColumns(rows.map((row) => row.counts)),
      ...behindColumns(rows.map((row) => ({ where: row.where, title: contrastTitle(row) }))),
    }),
  };
}
