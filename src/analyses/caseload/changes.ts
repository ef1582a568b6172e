import { type CivilDay, civilDay, partsOfDay } from '../../core/civil-day.ts';
import { type Estimate, isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { PROBLEMS, type ProblemKey, problemLabel } from '../../herd/problems.ts';
import { FEET } from '../../herd/vocabularies.ts';
import {
  type ClusteredOutcomes,
  type ClusteredShare,
  clusteredContrast,
  clusteredShare,
} from '../../stats/design-effect.ts';
import type { AskContext } from '../analysis.ts';
import { NO_MARK } from '../cycle-columns.ts';
import { groupAsk, markAsk } from '../cycle-table.ts';
import { FEWEST_COMPARED } from '../few-horses.ts';
import type { Counts } from '../format.ts';
import { allOf, type Coded } from '../groups.ts';
import { type CohortVisits, cohortVisits, horseOf } from '../visit-rows.ts';

/** Three-month seasons counted on end; that of December begins with it. */
const QUARTER = '(year(visit_date + INTERVAL 1 MONTH) * 4 + (month(visit_date) % 12) // 3)';

export const AGAINST = { 1: 'the season before', 4: 'the same season a year earlier' } as const;
const APART = [1, 4] as const;
type Apart = (typeof APART)[number];

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

/** Foot visits of one season, and what it is called. */
interface SeasonVisits {
  readonly quarter: number;
  readonly name: string;
  readonly rows: Uint32Array;
}

/** Of them those at which a problem was graded. */
interface Season extends SeasonVisits {
  readonly outcomes: ClusteredOutcomes;
  readonly counts: Counts;
}

export async function changesOf(context: AskContext): Promise<{ changes: Change[]; refused: Unavailable[] }> {
  const changes: Change[] = [];
  const refused: Unavailable[] = [];
  const asks = PROBLEMS.map(({ column }) => markAsk(quoteName(column)));
  const visits = await cohortVisits(context, [groupAsk('season'), ...asks]);
  const { places, day } = visits;
  if (places.length === 0) return { changes, refused };
  let last = day[places[0]!]!;
  for (const row of places) if (day[row]! > last) last = day[row]!;
  const seasons = [0, ...APART].map((apart) => visitsOf(visits, quarterOf(last) - apart));
  const few = new Map<Apart, ProblemKey[]>();
  for (const [k, { key }] of PROBLEMS.entries()) {
    for (const one of changesOfProblem(key, seasons, visits, visits.columns[1 + k] as Int8Array)) {
      if ('few' in one) few.set(one.few, [...(few.get(one.few) ?? []), key]);
      else if (isUnavailable(one)) refused.push(one);
      else changes.push(one);
    }
  }
  for (const [apart, problems] of few) refused.push(unavailable('no-rows', tooFew(problems, apart)));
  return { changes, refused };
}

function quarterOf(day: number): number {
  const { year, month } = partsOfDay(day);
  return (month === 12 ? year + 1 : year) * 4 + Math.floor((month % 12) / 3);
}

function firstDay(quarter: number): CivilDay {
  const [year, season] = [Math.floor(quarter / 4), quarter % 4];
  return season === 0 ? civilDay(year - 1, 12, 1)! : civilDay(year, 3 * season, 1)!;
}

/** As the herd's own visits name it, so that north and south need not be told here. */
function visitsOf({ places, day, columns }: CohortVisits, quarter: number): SeasonVisits {
  const [from, to] = [firstDay(quarter), firstDay(quarter + 1)];
  const rows = places.filter((row) => day[row]! >= from && day[row]! < to);
  const { levels, codes } = columns[0] as Coded;
  return { quarter, name: `${levels[codes[rows[0]!]!]} ${Math.floor(quarter / 4)}`, rows };
}

/** Null where too few horses were graded. */
function graded(
  { rows: all, ...season }: SeasonVisits,
  visits: CohortVisits,
  grades: Int8Array,
): Season | null {
  const rows = all.filter((row) => grades[row] !== NO_MARK);
  const success = new Uint8Array(rows.length);
  const cluster = new Int32Array(rows.length);
  for (let i = 0; i < rows.length; i++) {
    success[i] = grades[rows[i]!]! >= 1 ? 1 : 0;
    cluster[i] = horseOf(visits.foot[rows[i]!]!);
  }
  const counts = countVisits([rows], visits);
  return counts.horses < FEWEST_COMPARED ? null : { ...season, rows, outcomes: { success, cluster }, counts };
}

/** Distinct horses and feet, and visits of feet. */
function countVisits(parts: readonly Uint32Array[], { foot, horseIds }: CohortVisits): Counts {
  const isSeen = new Uint8Array(horseIds.length * FEET.length);
  const counts = { horses: 0, feet: 0, cycles: 0 };
  for (const rows of parts) {
    counts.cycles += rows.length;
    for (let i = 0; i < rows.length; i++) isSeen[foot[rows[i]!]!] = 1;
  }
  for (let horse = 0; horse < horseIds.length; horse++) {
    let feet = 0;
    for (let k = 0; k < FEET.length; k++) feet += isSeen[horse * FEET.length + k]!;
    counts.feet += feet;
    if (feet > 0) counts.horses += 1;
  }
  return counts;
}

function changesOfProblem(
  problem: ProblemKey,
  seasons: readonly SeasonVisits[],
  visits: CohortVisits,
  grades: Int8Array,
): (Change | Unavailable | { readonly few: Apart })[] {
  const column = quoteName(PROBLEMS.find(({ key }) => key === problem)!.column);
  const inQuarters = (asked: readonly Season[]): string =>
    allOf(
      `${column} IS NOT NULL`,
      `${QUARTER} IN (${asked.map(({ quarter }) => literal(quarter)).join(', ')})`,
    );
  const [now, ...earlier] = seasons.map((season) => graded(season, visits, grades));
  const nowShare = now && clusteredShare(now.outcomes);
  return APART.map((apart, k) => {
    const before = earlier[k];
    if (!now || !nowShare || !before) return { few: apart };
    const beforeShare = clusteredShare(before.outcomes);
    const contrast = clusteredContrast(now.outcomes, before.outcomes);
    if (isUnavailable(contrast) || isUnavailable(nowShare) || isUnavailable(beforeShare)) {
      const why = [contrast, nowShare, beforeShare].find(isUnavailable) as Unavailable;
      return unavailable(
        why.unavailable,
        `${problemLabel(problem)}, against ${AGAINST[apart]}: ${why.sentence}`,
      );
    }
    const told = (season: Season, share: ClusteredShare): SeasonShare => ({
      season: season.name,
      share,
      counts: season.counts,
      where: inQuarters([season]),
    });
    return {
      problem,
      apart,
      now: told(now, nowShare),
      before: told(before, beforeShare),
      difference: inPoints(contrast.difference),
      counts: countVisits([now.rows, before.rows], visits),
      where: inQuarters([now, before]),
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
