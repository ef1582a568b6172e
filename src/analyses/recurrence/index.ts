import { numbers, type Table, texts } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import type { ProblemKey } from '../../herd/problems.ts';
import { kaplanMeier } from '../../stats/kaplan-meier.ts';
import { turnbullBandSteps } from '../../stats/turnbull-bands.ts';
import type { Analysis, AnalysisContext, AnalysisResult } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { allOf, code, isLevel, requireGroupings } from '../groups.ts';
import { paced, pacer } from '../pacing.ts';
import { type ClearSpells, type GroupReturn, optionsSchema, type RecurrenceOptions } from './answer.ts';
import { byLevel, headline, refusal, visitDateFinding } from './findings.ts';
import { recurrenceCompare, recurrenceCurve, recurrenceEstimates } from './tables.ts';

const GRID_DAYS = Float64Array.from({ length: 74 }, (_, i) => i * 10);

export const recurrence: Analysis<RecurrenceOptions> = {
  name: 'recurrence',
  title: 'Return of a problem',
  question: 'Once a foot is clear, how soon is the problem seen again?',
  options: optionsSchema,
  async run(options, context) {
    if (options.by !== 'none') await requireGroupings(context.engine, 'spell', [options.by]);
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
