import { type CivilDay, partsOfDay } from '../../core/civil-day.ts';
import { isUnavailable, type Outcome, type Unavailable } from '../../core/outcome.ts';
import { fitOnsetSinceReset, type ResetFit } from '../../stats/onset-since-reset.ts';
import { type ResetPoint, type ResetRisk, resetRisk } from '../../stats/reset-risk.ts';
import type { AskContext } from '../analysis.ts';
import { type DesignColumns, INTERCEPT, levelColumns, sideBySide } from '../design-columns.ts';
import type { Counts } from '../format.ts';
import { clearCycles } from '../graded-cycles.ts';
import { commonest, type Grouping, groupingWords } from '../groups.ts';
import { atRiskWhere, type IntervalRows, intervalRows } from '../interval-effect/data.ts';
import { groupCodes, statesOf } from '../interval-effect/fits.ts';
import { onsetCells } from '../onset-cells.ts';
import { recordedInCycles } from '../recorded.ts';
import { type FootNow, RISK_GROUPS, type SeasonOf } from './data.ts';
import type { PlannedProblem } from './options.ts';

/** How one problem's risk climbs after a trim, by what a foot stands on. */
export interface RiskModel {
  readonly problem: PlannedProblem;
  readonly fit: ResetFit;
  /** What is held alike, each with its levels and the one the others are compared with. */
  readonly groups: readonly {
    readonly by: Grouping;
    readonly levels: readonly string[];
    readonly reference: number;
  }[];
  /** Cycles that began clear: what the risk rests on. */
  readonly counts: Counts;
  readonly where: string;
}

/** What could not be told of a problem's risk, or could not be held alike; several problems may share one. */
export interface RiskNote {
  readonly problem: PlannedProblem | null;
  readonly reason: Unavailable['unavailable'];
  /** `risk` is `the risk of …` with every problem that it holds for. */
  sentence(risk: string): string;
}

const HELD: readonly Grouping[] = [...RISK_GROUPS, 'season'];

/**
 * The two-state model of the interval's effect, with breed type, ground, moisture and season held alike; as recorded,
 * with nothing held alike, where the record is too small for that. Without a model where even that gives no answer, or
 * where the records cannot say whether waiting longer matters: the limit is then not used.
 */
export async function riskModel(
  problem: PlannedProblem,
  context: AskContext,
): Promise<{ readonly model: RiskModel | null; readonly notes: readonly RiskNote[] }> {
  const recorded = await recordedInCycles(context, clearCycles(problem), atRiskWhere(problem, []), HELD);
  const notes = recorded.notes.map(
    ({ unavailable: reason, sentence }): RiskNote => ({ problem: null, reason, sentence: () => sentence }),
  );
  for (const adjust of recorded.kept.length > 0 ? [[...recorded.kept], []] : [[]]) {
    const rows = await intervalRows(context, { problem, adjust });
    const fit = await fitRisk(rows, context);
    if (!isUnavailable(fit) && !isUnavailable(fit.exponent)) {
      const groups = Array.from(rows.groups, ([by, coded]) => ({
        by,
        levels: coded.levels,
        reference: commonest(coded),
      }));
      const where = atRiskWhere(problem, adjust);
      return { model: { problem, fit, groups, counts: rows.atRisk, where }, notes };
    }
    const why = isUnavailable(fit) ? fit : (fit.exponent as Unavailable);
    const common = { problem, reason: why.unavailable };
    if (adjust.length === 0) {
      // What the estimator falls back on is not used here.
      const reason = why.sentence.replace(/; the risk is taken to grow in proportion to time\.$/, '.');
      const sentence = (risk: string): string =>
        `${risk} by the next visit cannot be told, so no limit on it is used: ${reason}`;
      return {
        model: null,
        notes: [...notes.filter((note) => note.problem === null), { ...common, sentence }],
      };
    }
    notes.push({
      ...common,
      sentence: (risk) =>
        `${risk} is taken as the herd’s own for every horse: these records do not tell it by ${groupingWords(adjust)}.`,
    });
  }
  throw new Error('there must be a design to try: 0');
}

async function fitRisk(rows: IntervalRows, { apart }: AskContext): Promise<Outcome<ResetFit>> {
  const onset: DesignColumns = sideBySide(
    INTERCEPT,
    ...Array.from(rows.groups, ([by, coded]) => levelColumns(by, coded)),
  );
  const data = onsetCells(rows, [statesOf(rows), rows.days, ...groupCodes(rows)], onset);
  return apart ? apart('onset since reset', { data }) : fitOnsetSinceReset(data);
}

/** Levels of one foot in one season; null where one of them is not recorded, or new to the model. */
export function riskPoint(
  { groups }: Pick<RiskModel, 'groups'>,
  foot: Pick<FootNow, 'groups'>,
  season: string | null,
): ResetPoint | null {
  const onset = [1];
  for (const { by, levels, reference } of groups) {
    const level = by === 'season' ? season : foot.groups[by as keyof FootNow['groups']];
    const place = level === null ? -1 : levels.indexOf(level);
    if (place < 0) return null;
    for (let k = 0; k < levels.length; k += 1) if (k !== reference) onset.push(k === place ? 1 : 0);
  }
  return { onset, clearing: [1] };
}

/** Risk on each day of a coming cycle, from the trim on. */
export interface RiskDays {
  /** At the end of so many days, 1 or more. */
  risk(day: number): number;
  /** It is below this with the confidence asked for. */
  upper(day: number): number;
}

/** Of a clear foot trimmed on a day; null where its group is not recorded or new to the model. */
export type RiskAhead = (foot: Pick<FootNow, 'groups'>, from: CivilDay) => Outcome<RiskDays> | null;

/**
 * Each combination of groups and season is worked out once, and so is each of groups and day. A cycle has the season
 * of its middle day, as in the records.
 */
export function riskAhead(
  model: RiskModel,
  seasonOf: SeasonOf,
  mostDays: number,
  confidence: number,
): RiskAhead {
  const times = Float64Array.from({ length: mostDays }, (_, i) => i + 1);
  const curve = remembered(
    (onset: string): Outcome<ResetRisk> =>
      resetRisk(model.fit, { onset: onset.split(' ').map(Number), clearing: [1] }, times, confidence),
  );
  /** The season of the cycle, by its middle day, at the end of each day ahead. */
  const seasonsAhead = remembered((from: CivilDay): readonly (string | null)[] =>
    Array.from({ length: (mostDays >> 1) + 1 }, (_, half) => seasonOf(partsOfDay(from + half).month)),
  );
  const daysAhead = ({ groups }: Pick<FootNow, 'groups'>, from: CivilDay): Outcome<RiskDays> | null => {
    const seasons = seasonsAhead(from);
    const parts: { readonly from: number; readonly curve: ResetRisk }[] = [];
    for (let day = 1; day <= mostDays; day += 1) {
      const season = seasons[day >> 1]!;
      if (day > 1 && season === seasons[(day - 1) >> 1]) continue;
      const point = riskPoint(model, { groups }, season);
      const found = point && curve(Array.from(point.onset).join(' '));
      if (!found || isUnavailable(found)) return found;
      parts.push({ from: day, curve: found });
    }
    const curveAt = (day: number): ResetRisk => parts.findLast((part) => part.from <= day)!.curve;
    return {
      risk: (day) => curveAt(day).risk[day - 1]!,
      upper: (day) => curveAt(day).upper[day - 1]!,
    };
  };
  const byGroups = remembered((groups: FootNow['groups']) =>
    remembered((from: CivilDay) => daysAhead({ groups }, from)),
  );
  return ({ groups }, from) => byGroups(groups)(from);
}

function remembered<K, T>(make: (key: K) => T): (key: K) => T {
  const known = new Map<K, T>();
  return (key) => {
    if (!known.has(key)) known.set(key, make(key));
    return known.get(key)!;
  };
}
