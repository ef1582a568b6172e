import { type CivilDay, partsOfDay } from '../../core/civil-day.ts';
import { PROBLEMS } from '../../herd/problems.ts';
import { type AskContext, remembered } from '../analysis.ts';
import { NO_MARK } from '../cycle-columns.ts';
import { chosenCycles, groupAsk, markAsk, numberAsk } from '../cycle-table.ts';
import type { Coded } from '../groups.ts';
import {
  byFoot,
  type CohortVisits,
  cohortVisits,
  footName,
  horseOf,
  isLater,
  keyOfFoot,
  lastDays,
} from '../visit-rows.ts';
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

/** What is asked of visits, in order. */
const ASKS = [
  ...['horse_name', 'client_id', ...RISK_GROUPS].map(groupAsk),
  ...PLANNED_PROBLEMS.map((problem) => markAsk(PROBLEMS.find(({ key }) => key === problem)!.column)),
];

/** Every horse of the cohort by its id, its feet in the order of the vocabulary. */
export async function horsesNow(context: AskContext): Promise<HorseNow[]> {
  return remembered(context, 'horses now', async () => {
    const [visits, usual] = await Promise.all([cohortVisits(context, ASKS), usualDays(context)]);
    return gatherHorses(visits, usual);
  });
}

function gatherHorses(visits: CohortVisits, usual: ReadonlyMap<string, Usual>): HorseNow[] {
  const [names, clients, breeds, grounds, moistures] = visits.columns as Coded[];
  const grades = visits.columns.slice(-PLANNED_PROBLEMS.length) as Int8Array[];
  const last = lastDays(visits);
  const horses: (HorseNow & { readonly feet: FootNow[] })[] = [];
  for (const rows of byFoot(visits)) {
    const at = visits.foot[rows[0]!]!;
    const horse = horseOf(at);
    const seen = rows.filter((row) => visits.day[row] === last[horse]);
    if (seen.length === 0) continue;
    const row = seen.reduce((one, other) => (isLater(visits, other, one) ? other : one));
    const states = PLANNED_PROBLEMS.map((problem, k) => [problem, stateOf(grades[k]![row]!)] as const);
    const foot: FootNow = {
      key: keyOfFoot(visits.horseIds, at),
      foot: footName(at),
      state: Object.fromEntries(states) as FootNow['state'],
      groups: {
        breed_type: levelAt(breeds!, row),
        terrain: latest(visits, grounds!, rows),
        moisture: latest(visits, moistures!, rows),
      },
    };
    const id = visits.horseIds[horse]!;
    const before = horses.at(-1);
    if (before?.id === id) {
      before.feet.push(foot);
      continue;
    }
    const { days, cycles } = usual.get(id) ?? { days: null, cycles: 0 };
    horses.push({
      id,
      name: levelAt(names!, row),
      client: levelAt(clients!, row),
      lastVisit: last[horse]! as CivilDay,
      feet: [foot],
      usualDays: days,
      nCycles: cycles,
    });
  }
  return horses;
}

const stateOf = (grade: number): number => (grade === NO_MARK ? Number.NaN : grade >= 1 ? 1 : 0);
const levelAt = ({ levels, codes }: Coded, row: number): string | null => levels[codes[row]!] ?? null;

/** The latest recorded level; of two on one day the last by the alphabet. */
function latest({ day }: CohortVisits, { levels, codes }: Coded, rows: readonly number[]): string | null {
  let [found, on] = [-1, Number.NEGATIVE_INFINITY];
  for (const row of rows) {
    const here = codes[row]!;
    if (here < 0 || day[row]! < on) continue;
    [found, on] = [day[row] === on ? Math.max(found, here) : here, day[row]!];
  }
  return levels[found] ?? null;
}

interface Usual {
  /** Median of its unflagged cycles. */
  readonly days: number;
  readonly cycles: number;
}

async function usualDays(context: AskContext): Promise<ReadonlyMap<string, Usual>> {
  const ask = { columns: { days: numberAsk('days') }, where: ['flag IS NULL'] };
  const { keep, horse, columns } = await chosenCycles(context, ask);
  const days = columns.get('days') as Float64Array;
  const usual = new Map<string, Usual>();
  // Cycles come by foot, and so by horse.
  for (let i = 0; i < keep.length; ) {
    const of = horse.codes[keep[i]!]!;
    const from = i;
    while (i < keep.length && horse.codes[keep[i]!] === of) i++;
    const own = Float64Array.from(keep.subarray(from, i), (row) => days[row]!).sort();
    const middle = (own[(own.length - 1) >> 1]! + own[own.length >> 1]!) / 2;
    usual.set(horse.levels[of]!, { days: Math.round(middle), cycles: own.length });
  }
  return usual;
}

/** The season of a day, by the quarter of the year that begins with December; null where the records show no such quarter. */
export type SeasonOf = (month: number) => string | null;

/** As the herd's own visits name them, so that north and south need not be told here. */
export async function seasonsOf(context: AskContext): Promise<SeasonOf> {
  const { places, day, columns } = await cohortVisits(context, [groupAsk('season')]);
  const seasons = columns[0] as Coded;
  const named = new Map<number, string | null>();
  for (const row of places) {
    if (named.size === 4) break;
    const quarter = quarterOf(partsOfDay(day[row]! as CivilDay).month);
    if (!named.has(quarter)) named.set(quarter, levelAt(seasons, row));
  }
  return (month) => named.get(quarterOf(month)) ?? null;
}

const quarterOf = (month: number): number => Math.floor((month % 12) / 3);
