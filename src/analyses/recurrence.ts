import { z } from 'zod';
import { isUnavailable, type Outcome, type Unavailable, unavailable } from '../core/outcome.ts';
import { numbers, type Table, texts } from '../core/table.ts';
import { literal, quoteName } from '../engine/sql-text.ts';
import { PROBLEM_KEYS, type ProblemKey, problemLabel } from '../herd/problems.ts';
import { type KaplanMeierFit, kaplanMeier, stepAt } from '../stats/kaplan-meier.ts';
import { type TurnbullBands, turnbullBandSteps } from '../stats/turnbull-bands.ts';
import type { Analysis, AnalysisContext, AnalysisResult, Finding } from './analysis.ts';
import { CAUTIONS } from './cautions.ts';
import { figure, percent, percentRange } from './format.ts';
import { allOf, code, GROUPINGS, type Grouping, groupingSchema, isLevel } from './groups.ts';
import { paced, pacer } from './pacing.ts';
import { recurrenceCompare, recurrenceCurve, recurrenceEstimates } from './recurrence-tables.ts';

const optionsSchema = z.strictObject({
  problem: z.enum(PROBLEM_KEYS).default('separation'),
  by: z.union([z.literal('none'), groupingSchema]).default('breed_type'),
  /** Days after the first clear visit at which the share is reported. */
  horizons: z.array(z.int().min(1).max(3650)).min(1).max(6).default([90, 180, 365]),
  replicates: z.int().min(50).max(2000).default(200),
  seed: z.int().default(1),
});
export type RecurrenceOptions = z.output<typeof optionsSchema>;

/** Clear spells that followed a present one: the rows of this analysis. Times in days from the first clear visit. */
export interface ClearSpells {
  readonly level: readonly (string | null)[];
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  /** Last visit still clear. */
  readonly left: Float64Array;
  /** First visit with the problem back; Infinity where none was seen. */
  readonly right: Float64Array;
  /** Visit-to-visit looks taken. */
  readonly looks: Float64Array;
}

/** One group's answer: both ways of reading the same rows. */
export interface GroupReturn {
  readonly level: string;
  readonly where: string;
  readonly nHorses: number;
  readonly nFeet: number;
  readonly nSpells: number;
  readonly nLooks: number;
  readonly bands: Outcome<TurnbullBands>;
  readonly visitDate: Outcome<KaplanMeierFit>;
}

const GRID_DAYS = Float64Array.from({ length: 74 }, (_, i) => i * 10);

export const recurrence: Analysis<RecurrenceOptions> = {
  name: 'recurrence',
  title: 'Return of a problem',
  question: 'Once a foot is clear, how soon is the problem seen again?',
  options: optionsSchema,
  async run(options, context) {
    const rows = spellsFrom(await context.engine.query(spellsSql(options), context.signal));
    const groups = await everyGroup(rows, options, context);
    return present(groups, options);
  },
};

function spellWhere(problem: ProblemKey): string {
  return allOf(`problem = ${literal(problem)}`, 'NOT present', 'previous_seen IS NOT NULL');
}

function spellsSql({ problem, by }: RecurrenceOptions): string {
  return `
    SELECT ${by === 'none' ? 'NULL::VARCHAR' : `${quoteName(by)}::VARCHAR`} AS level, horse_id, foot_key,
      (last_seen - first_seen)::DOUBLE AS left_days,
      (next_seen - first_seen)::DOUBLE AS right_days,
      (visits - 1 + (next_seen IS NOT NULL)::INTEGER)::DOUBLE AS looks
    FROM spell WHERE ${spellWhere(problem)}
    ORDER BY horse_id, foot_key, spell_number`;
}

function spellsFrom(table: Table): ClearSpells {
  return {
    level: texts(table, 'level'),
    horse: code(texts(table, 'horse_id')).codes,
    foot: code(texts(table, 'foot_key')).codes,
    left: numbers(table, 'left_days'),
    right: numbers(table, 'right_days').map((days) => (Number.isNaN(days) ? Number.POSITIVE_INFINITY : days)),
    looks: numbers(table, 'looks'),
  };
}

async function everyGroup(
  rows: ClearSpells,
  options: RecurrenceOptions,
  context: AnalysisContext,
): Promise<GroupReturn[]> {
  const levels = options.by === 'none' ? [] : code(rows.level).levels;
  const names: (string | null)[] = [null, ...levels];
  const pause = pacer(context.signal);
  const groups: GroupReturn[] = [];
  for (const [k, name] of names.entries()) {
    const keep = Array.from(rows.left.keys()).filter((i) => name === null || rows.level[i] === name);
    groups.push(
      await oneGroup(rows, keep, name, options, pause, (fraction) =>
        context.progress((k + fraction) / names.length, `Resampling horses: ${name ?? 'all'}`),
      ),
    );
  }
  return groups;
}

async function oneGroup(
  rows: ClearSpells,
  keep: readonly number[],
  name: string | null,
  { problem, by, horizons, replicates, seed }: RecurrenceOptions,
  pause: () => Promise<void>,
  onStep: (fraction: number) => void,
): Promise<GroupReturn> {
  const pick = (values: Float64Array): Float64Array => Float64Array.from(keep, (i) => values[i]!);
  const left = pick(rows.left);
  const right = pick(rows.right);
  const horse = Int32Array.from(keep, (i) => rows.horse[i]!);
  const at = Float64Array.from(new Set([...GRID_DAYS, ...horizons])).sort();
  return {
    level: name ?? 'all',
    where: allOf(spellWhere(problem), name === null || by === 'none' ? null : isLevel(by, name)),
    nHorses: new Set(horse).size,
    nFeet: new Set(keep.map((i) => rows.foot[i]!)).size,
    nSpells: keep.length,
    nLooks: pick(rows.looks).reduce((sum, n) => sum + n, 0),
    bands: await paced(
      turnbullBandSteps({ left, right }, horse, { at, quantiles: [0.5], replicates, seed }),
      pause,
      (step) => onStep(step.done / step.total),
    ),
    visitDate: kaplanMeier({
      time: right.map((r, i) => (r === Number.POSITIVE_INFINITY ? left[i]! : r)),
      event: Uint8Array.from(right, (r) => (r === Number.POSITIVE_INFINITY ? 0 : 1)),
    }),
  };
}

function present(groups: readonly GroupReturn[], options: RecurrenceOptions): AnalysisResult {
  const { problem, by, horizons } = options;
  const all = groups[0]!;
  const refused = groups.flatMap((group) => refusal(group, options));
  return {
    analysis: 'recurrence',
    tables: [
      recurrenceEstimates(groups, options),
      recurrenceCurve(groups, problem),
      recurrenceCompare(all, problem),
    ],
    findings: [
      ...headline(all, problem, horizons),
      ...(by === 'none' ? [] : byLevel(groups.slice(1), problem, by, horizons)),
      ...visitDateFinding(all, problem, horizons),
    ],
    unavailable: refused,
    assumes: [
      'A clear spell begins at the first visit seen clear after one with the problem; its return lies after the last clear visit and by the first visit with the problem again.',
      'Visits are not timed by how the foot fares between them.',
      'A return that cleared again before the next visit was never seen and is not counted: this is return seen at visits.',
      'Horses are independent; the feet of one horse are not, so whole horses are resampled.',
    ],
    cautions: [CAUTIONS.between_visits, CAUTIONS.own_scale, CAUTIONS.record],
    method: {
      name: 'Nonparametric maximum likelihood for interval-censored times, bands by resampling horses',
      source: 'Turnbull 1976, J R Stat Soc B 38:290–295; Gentleman & Geyer 1994, Biometrika 81:618–623',
      doc: 'docs/methods/recurrence.md',
    },
    counts: { horses: all.nHorses, feet: all.nFeet, cycles: all.nLooks },
  };
}

/** The groups that gave no number, each with a sentence that says which. */
function refusal(group: GroupReturn, { problem, by }: RecurrenceOptions): Unavailable[] {
  if (!isUnavailable(group.bands)) return [];
  const who = group.level === 'all' ? '' : ` (${GROUPINGS[by as Grouping]} ${group.level})`;
  const label = problemLabel(problem);
  if (group.bands.unavailable === 'no-rows') {
    return [
      unavailable('no-rows', `No foot was seen to clear of ${label}${who}, so its return cannot be studied.`),
    ];
  }
  if (group.bands.unavailable === 'no-events') {
    return [
      unavailable(
        'no-events',
        `No return of ${label} was seen${who} in ${figure(group.nSpells)} clear spells of ${figure(group.nHorses)} horses. That is not the same as no risk.`,
      ),
    ];
  }
  return [{ ...group.bands, sentence: `${label}${who}: ${group.bands.sentence}` }];
}

const spellCount = (group: GroupReturn): string =>
  `${figure(group.nHorses)} horses, ${figure(group.nFeet)} feet, ${figure(group.nSpells)} clear spells`;

function headline(all: GroupReturn, problem: ProblemKey, horizons: readonly number[]): Finding[] {
  if (isUnavailable(all.bands)) return [];
  const { points } = all.bands;
  const parts = horizons.flatMap((days) => {
    const point = points.find((p) => p.at === days);
    if (!point) return [];
    const { low, high } = point.estimate;
    const loose = high - low > 0.01 ? `, the visits leaving it between ${percentRange(low, high)}` : '';
    return [
      `${percent((low + high) / 2)} by ${days} days (95 % ${percentRange(point.low, point.high)}${loose})`,
    ];
  });
  return [
    {
      sentence: `Of feet that had cleared of ${problemLabel(problem)}, an estimated share had it again, as seen at visits: ${parts.join('; ')}. From ${spellCount(all)}.`,
      caution: CAUTIONS.between_visits,
      behind: {
        relation: 'spell',
        where: all.where,
        title: `clear spells after ${problemLabel(problem)}, all horses`,
      },
    },
  ];
}

function byLevel(
  groups: readonly GroupReturn[],
  problem: ProblemKey,
  by: Grouping,
  horizons: readonly number[],
): Finding[] {
  const days = horizons[Math.min(1, horizons.length - 1)]!;
  const told = groups.flatMap((group) => {
    if (isUnavailable(group.bands)) return [];
    const point = group.bands.points.find((p) => p.at === days);
    return point ? [{ group, point, middle: (point.estimate.low + point.estimate.high) / 2 }] : [];
  });
  if (told.length < 2) return [];
  const sorted = [...told].sort((a, b) => b.middle - a.middle);
  const most = sorted[0]!;
  const least = sorted.at(-1)!;
  const apart = most.point.low > least.point.high;
  const words = ({ group, point, middle }: (typeof told)[number]): string =>
    `${group.level} ${percent(middle)} (95 % ${percentRange(point.low, point.high)}, ${figure(group.nHorses)} horses)`;
  return [
    {
      sentence: `By ${GROUPINGS[by]}, the share with ${problemLabel(problem)} seen again by ${days} days runs from ${words(least)} to ${words(most)}; ${apart ? 'their intervals do not overlap' : 'their intervals overlap, so the order may be chance'}.`,
      caution: CAUTIONS.small_numbers,
      behind: {
        relation: 'spell',
        where: most.group.where,
        title: `clear spells after ${problemLabel(problem)}, ${most.group.level}`,
      },
    },
  ];
}

function visitDateFinding(all: GroupReturn, problem: ProblemKey, horizons: readonly number[]): Finding[] {
  if (isUnavailable(all.bands) || isUnavailable(all.visitDate)) return [];
  const days = horizons[0]!;
  const point = all.bands.points.find((p) => p.at === days);
  const step = stepAt(all.visitDate, days);
  if (!point) return [];
  const ours = (point.estimate.low + point.estimate.high) / 2;
  const naive = 1 - (step?.survival ?? 1);
  return [
    {
      sentence: `Taking the visit date as the date of return would have said ${percent(naive, 1)} by ${days} days instead of ${percent(ours, 1)}: a return is found only at the visit after it, so it is counted late.`,
      caution: null,
      behind: {
        relation: 'spell',
        where: all.where,
        title: `clear spells after ${problemLabel(problem)}, all horses`,
      },
    },
  ];
}
