import { z } from 'zod';
import { isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { makeTable, numberColumn, numbers, type Table, textColumn, texts } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import {
  CASE_DEFINITION,
  PROBLEM_KEYS,
  PROBLEMS,
  type ProblemKey,
  problemLabel,
} from '../../herd/problems.ts';
import { type ClusteredShare, clusteredShare } from '../../stats/design-effect.ts';
import type { Analysis, AnalysisContext, AnalysisResult, Finding, ResultTable } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { type Counts, countsText, figure, percent, percentRange } from '../format.ts';
import {
  allOf,
  code,
  countRows,
  groupingSchema,
  groupingWords,
  isLevel,
  requireGroupings,
} from '../groups.ts';
import { tidyTable } from '../tidy.ts';

const optionsSchema = z.strictObject({
  problems: z
    .array(z.enum(PROBLEM_KEYS))
    .min(1)
    .default([...PROBLEM_KEYS]),
  /** `quarter`: by three-month season and year. */
  by: z.union([z.literal('none'), z.literal('quarter'), groupingSchema]).default('none'),
  /** `latest`: each foot once, as last graded; `every`: every graded visit. */
  at: z.enum(['latest', 'every']).default('latest'),
});
type PrevalenceOptions = z.output<typeof optionsSchema>;

interface Share {
  readonly problem: ProblemKey;
  readonly level: string;
  readonly share: ClusteredShare;
  readonly affected: number;
  readonly counts: Counts;
  readonly where: string;
}

/** Quarter of a visit by meteorological season: `2025 Q1` begins on 1 December 2024. */
const QUARTER = `(CASE WHEN month(visit_date) = 12 THEN year(visit_date) + 1 ELSE year(visit_date) END)::VARCHAR || ' ' || season`;
const QUARTER_START = "(date_trunc('quarter', visit_date + INTERVAL 1 MONTH) - INTERVAL 1 MONTH)::DATE";

/** Share of feet affected, on the effective number of independent feet. */
export const prevalence: Analysis<PrevalenceOptions> = {
  name: 'prevalence',
  title: 'Share of feet affected',
  question: 'What share of feet has each problem?',
  options: optionsSchema,
  async run(options, context) {
    const { by } = options;
    if (by !== 'none' && by !== 'quarter') await requireGroupings(context.engine, 'foot_visit', [by]);
    const shares: Share[] = [];
    const refused: Unavailable[] = [];
    for (const problem of options.problems) {
      const found = await sharesOf(problem, options, context);
      shares.push(...found.shares);
      refused.push(...found.refused);
    }
    return present(shares, refused, options);
  },
};

function baseWhere(problem: ProblemKey, { at }: PrevalenceOptions): string {
  const column = quoteName(columnOf(problem));
  const latest = `(foot_key, visit_date) IN (SELECT (foot_key, max(visit_date)) FROM foot_visit WHERE ${column} IS NOT NULL GROUP BY foot_key)`;
  return allOf(`${column} IS NOT NULL`, at === 'latest' ? latest : null);
}

const columnOf = (problem: ProblemKey): string => PROBLEMS.find(({ key }) => key === problem)!.column;

function levelColumn({ by }: PrevalenceOptions): string {
  if (by === 'none') return "'all'";
  return by === 'quarter' ? QUARTER : `${quoteName(by)}::VARCHAR`;
}

async function sharesOf(
  problem: ProblemKey,
  options: PrevalenceOptions,
  { engine, signal }: AnalysisContext,
): Promise<{ shares: Share[]; refused: Unavailable[] }> {
  const level = levelColumn(options);
  const where = allOf(baseWhere(problem, options), options.by === 'none' ? null : `${level} IS NOT NULL`);
  const order = options.by === 'none' ? '' : `${options.by === 'quarter' ? QUARTER_START : level}, `;
  const table: Table = await engine.query(
    `SELECT ${level} AS level, horse_id, foot_key, (${quoteName(columnOf(problem))} >= 1)::INTEGER AS present
     FROM foot_visit WHERE ${where} ORDER BY ${order}horse_id, foot_key, visit_date`,
    signal,
  );
  const levels = texts(table, 'level');
  const horse = code(texts(table, 'horse_id')).codes;
  const foot = code(texts(table, 'foot_key')).codes;
  const present = numbers(table, 'present');
  const shares: Share[] = [];
  const refused: Unavailable[] = [];
  for (const name of new Set(levels)) {
    if (name === null) continue;
    const keep = Array.from(levels.keys()).filter((row) => levels[row] === name);
    const share = clusteredShare({
      success: Uint8Array.from(keep, (row) => present[row]!),
      cluster: Int32Array.from(keep, (row) => horse[row]!),
    });
    if (isUnavailable(share)) {
      refused.push(unavailable(share.unavailable, `${problemLabel(problem)}, ${name}: ${share.sentence}`));
      continue;
    }
    shares.push({
      problem,
      level: name,
      share,
      affected: keep.reduce((sum, row) => sum + present[row]!, 0),
      counts: countRows(horse, foot, (row) => levels[row] === name),
      where: levelWhere(where, name, options),
    });
  }
  if (levels.length === 0) {
    refused.push(unavailable('no-rows', `${problemLabel(problem)} was not graded at any visit here.`));
  }
  return { shares, refused };
}

function levelWhere(where: string, name: string, { by }: PrevalenceOptions): string {
  if (by === 'none') return where;
  return allOf(where, by === 'quarter' ? `${QUARTER} = '${name.replaceAll("'", "''")}'` : isLevel(by, name));
}

function present(
  shares: readonly Share[],
  refused: Unavailable[],
  options: PrevalenceOptions,
): AnalysisResult {
  const most = shares.reduce<Counts>((a, { counts }) => (counts.cycles > a.cycles ? counts : a), {
    horses: 0,
    feet: 0,
    cycles: 0,
  });
  return {
    analysis: 'prevalence',
    tables: [estimates(shares), sharesTable(shares, options)],
    findings: options.by === 'none' ? headline(shares, options) : [],
    unavailable: refused,
    assumes: [
      CASE_DEFINITION,
      'Feet of one horse are alike: intervals rest on the number of independent feet that would say as much.',
      'A foot not graded is left out, not taken as clear.',
    ],
    cautions: [CAUTIONS.own_scale],
    method: {
      name: 'Share with a Wilson interval on the effective sample size, horses as clusters',
      source: 'Korn & Graubard 1998, Surv Methodol 24:193–201; Wilson 1927, J Am Stat Assoc 22:209–212',
      doc: 'docs/methods/shares.md',
    },
    counts: most,
  };
}

const title = ({ problem, level }: Share): string => `${problemLabel(problem)} graded, ${level}`;

function estimates(shares: readonly Share[]): ResultTable {
  const rows = shares.map((s) => ({
    problem: s.problem,
    term: 'share of feet affected',
    level: s.level,
    estimate: s.share.estimate,
    stdError: s.share.stdError,
    low: s.share.low,
    high: s.share.high,
    unit: 'share',
    counts: s.counts,
    behind: s.where,
    behindTitle: title(s),
  }));
  return { ...tidyTable('prevalence', 'Share of feet affected', rows), relation: 'foot_visit' };
}

function sharesTable(shares: readonly Share[], { by }: PrevalenceOptions): ResultTable {
  const grouped =
    by === 'none' ? [] : [{ name: 'level', label: by === 'quarter' ? 'Season' : groupingWords(by) }];
  return {
    name: 'shares',
    title: 'Share of feet affected',
    relation: 'foot_visit',
    columns: [
      { name: 'problem', label: 'Problem' },
      ...grouped,
      { name: 'estimate', label: 'Share', digits: 3 },
      { name: 'conf_low', label: '95 % from', digits: 3 },
      { name: 'conf_high', label: 'to', digits: 3 },
      { name: 'affected', label: 'Affected', digits: 0 },
      { name: 'n_horses', label: 'Horses', digits: 0 },
      { name: 'n_feet', label: 'Feet', digits: 0 },
    ],
    table: makeTable({
      problem: textColumn(shares.map((s) => problemLabel(s.problem))),
      level: textColumn(shares.map((s) => s.level)),
      estimate: numberColumn(shares.map((s) => s.share.estimate)),
      conf_low: numberColumn(shares.map((s) => s.share.low)),
      conf_high: numberColumn(shares.map((s) => s.share.high)),
      affected: numberColumn(shares.map((s) => s.affected)),
      effective_n: numberColumn(shares.map((s) => s.share.effectiveN)),
      n_horses: numberColumn(shares.map((s) => s.counts.horses)),
      n_feet: numberColumn(shares.map((s) => s.counts.feet)),
      behind: textColumn(shares.map((s) => s.where)),
      behind_title: textColumn(shares.map(title)),
    }),
  };
}

function headline(shares: readonly Share[], { at }: PrevalenceOptions): Finding[] {
  if (shares.length === 0) return [];
  const sorted = [...shares].sort((a, b) => b.share.estimate - a.share.estimate);
  const told = sorted.map(
    ({ problem, share, affected }) =>
      `${problemLabel(problem)} ${percent(share.estimate, 1)} (95 % ${percentRange(share.low, share.high, 1)}, ${figure(affected)} feet)`,
  );
  const { horses, feet } = sorted[0]!.counts;
  const when =
    at === 'latest'
      ? 'At its latest graded visit, the share of feet affected was'
      : 'Over all graded visits, the share affected was';
  return [
    {
      sentence: `${when}: ${told.join('; ')}. From ${countsText({ horses, feet, cycles: 0 }).replace(/, 0 trim cycles$/, '')}.`,
      caution: CAUTIONS.own_scale,
      behind: { relation: 'foot_visit', where: sorted[0]!.where, title: title(sorted[0]!) },
    },
  ];
}
