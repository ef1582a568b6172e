import { makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { ResultTable } from '../analysis.ts';
import { groupingName, levelName } from '../groups.ts';
import { behindColumns, estimateColumns, SHOWN_COUNTS, shownShares } from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import { contrastTitle, type ShareContrastRow } from './contrasts.ts';
import type { PrevalenceOptions } from './options.ts';
import type { Share } from './shares.ts';

export const shareTitle = ({ problem, level }: Pick<Share, 'problem' | 'level'>): string =>
  `${problemLabel(problem)} graded, ${level}`;

/** Tidy shares, then differences and ratios of shares. */
export function prevalenceEstimates(
  shares: readonly Share[],
  contrasts: readonly ShareContrastRow[],
  { by }: PrevalenceOptions,
): ResultTable {
  const name = (level: string): string => (by === 'quarter' ? level : levelName(by, level));
  const plain = shares.map(
    (s): TidyRow => ({
      problem: s.problem,
      term: 'share of feet affected',
      level: name(s.level),
      estimate: s.share.estimate,
      stdError: s.share.stdError,
      low: s.share.low,
      high: s.share.high,
      unit: 'share',
      counts: s.counts,
      behind: s.where,
      behindTitle: shareTitle(s),
    }),
  );
  const compared = contrasts.flatMap((row): TidyRow[] => {
    const common = {
      problem: row.problem,
      level: `${name(row.level)} against ${row.against}`,
      counts: row.counts,
      behind: row.where,
      behindTitle: contrastTitle(row),
    };
    const told = ({ estimate, stdError, low, high }: ShareContrastRow['difference']) => ({
      estimate,
      stdError,
      low,
      high,
    });
    return [
      { ...common, ...told(row.difference), term: 'difference of shares', unit: 'share' },
      ...(row.ratio ? [{ ...common, ...told(row.ratio), term: 'ratio of shares', unit: 'ratio' }] : []),
    ];
  });
  return {
    ...tidyTable('prevalence', 'Share of feet affected', [...plain, ...compared], 3),
    relation: 'foot_visit',
  };
}

export function sharesTable(shares: readonly Share[], { by }: PrevalenceOptions): ResultTable {
  const grouped =
    by === 'none' ? [] : [{ name: 'level', label: by === 'quarter' ? 'Season' : groupingName(by) }];
  return {
    name: 'shares',
    title: 'Share of feet affected',
    relation: 'foot_visit',
    columns: [
      { name: 'problem', label: 'Problem' },
      ...grouped,
      ...shownShares('Share'),
      { name: 'affected', label: 'Affected', digits: 0 },
      ...SHOWN_COUNTS.slice(0, 2),
      { name: 'n_visits', label: 'Foot visits', digits: 0 },
    ],
    table: makeTable({
      problem: textColumn(shares.map((s) => problemLabel(s.problem))),
      level: textColumn(shares.map((s) => s.level)),
      ...estimateColumns(shares.map((s) => s.share)),
      affected: numberColumn(shares.map((s) => s.affected)),
      effective_n: numberColumn(shares.map((s) => s.share.effectiveN)),
      n_horses: numberColumn(shares.map((s) => s.counts.horses)),
      n_feet: numberColumn(shares.map((s) => s.counts.feet)),
      n_visits: numberColumn(shares.map((s) => s.counts.cycles)),
      ...behindColumns(shares.map((s) => ({ where: s.where, title: shareTitle(s) }))),
    }),
  };
}
