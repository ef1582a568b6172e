import { type CivilDay, partsOfDay } from '../../core/civil-day.ts';
import { PROBLEMS } from '../../herd/problems.ts';
import { type AskContext, remembered } from '../analysis.ts';
import { NO_MARK } from '../cycle-columns.ts';
import { chosenCycles, groupAsk, markAsk, numberAsk } from '../cycle-table.ts';
import type { Coded } from '../groups.ts';
import {
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
  const { places, day, foot: feetOf } = visits;
  const [names, clients, breeds, grounds, moistures] = visits.columns as Coded[];
  const grades = visits.columns.slice(-PLANNED_PROBLEMS.length) as Int8Array[];
  const last = lastDays(visits);
  const groupsOf = sharedGroups([breeds!, grounds!, moistures!]);
  const statesAt = sharedStates(grades);
  const horses: (HorseNow & { readonly feet: FootNow[] })[] = [];
  for (let from = 0, to = 0; from < places.length; from = to) {
    const at = feetOf[places[from]!]!;
    while (to < places.length && feetOf[places[to]!] === at) to++;
    const horse = horseOf(at);
    // A foot's visits come in time: where it was seen last, and not another foot of its horse alone.
    if (day[places[to - 1]!] !== last[horse]) continue;
    let first = to - 1;
    while (first > from && day[places[first - 1]!] === last[horse]) first--;
    let row = places[first]!;
    for (let i = first + 1; i < to; i++) if (isLater(visits, places[i]!, row)) row = places[i]!;
    const foot: FootNow = {
      key: keyOfFoot(visits.horseIds, at),
      foot: footName(at),
      state: statesAt(row),
      groups: groupsOf(
        breeds!.codes[row]!,
        latest(visits, grounds!, from, to),
        latest(visits, moistures!, from, to),
      ),
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

/** What stands in a row, the same object for the same states: of every foot one is kept. */
function sharedStates(grades: readonly Int8Array[]): (row: number) => FootNow['state'] {
  const known = new Map<number, FootNow['state']>();
  return (row) => {
    const states = grades.map((marks) => stateOf(marks[row]!));
    // Not graded, clear or present: digits of a number.
    const key = states.reduce((sum, state) => 3 * sum + (Number.isNaN(state) ? 2 : state), 0);
    let found = known.get(key);
    if (!found) {
      const pairs = PLANNED_PROBLEMS.map((problem, k) => [problem, states[k]!]);
      found = Object.fromEntries(pairs) as Record<PlannedProblem, number>;
      known.set(key, found);
    }
    return found;
  };
}

/** Levels by their codes, the same object for the same levels: what follows from them is worked out once for each. */
function sharedGroups([breeds, grounds, moistures]: readonly Coded[]) {
  const known = new Map<number, FootNow['groups']>();
  return (breed: number, ground: number, moisture: number): FootNow['groups'] => {
    const width = [grounds!.levels.length + 1, moistures!.levels.length + 1] as const;
    const key = ((breed + 1) * width[0] + ground + 1) * width[1] + moisture + 1;
    let found = known.get(key);
    if (!found) {
      found = {
        breed_type: breeds!.levels[breed] ?? null,
        terrain: grounds!.levels[ground] ?? null,
        moisture: moistures!.levels[moisture] ?? null,
      };
      known.set(key, found);
    }
    return found;
  };
}

const stateOf = (grade: number): number => (grade === NO_MARK ? Number.NaN : grade >= 1 ? 1 : 0);
const levelAt = ({ levels, codes }: Coded, row: number): string | null => levels[codes[row]!] ?? null;

/** The latest recorded level of a foot's visits, as a code, −1 without one; of two on one day the last by the alphabet. */
function latest({ places, day }: CohortVisits, { codes }: Coded, from: number, to: number): number {
  let [found, on] = [-1, Number.NaN];
  for (let i = to - 1; i >= from; i--) {
    const row = places[i]!;
    const here = codes[row]!;
    if (found >= 0 && day[row] !== on) break;
    if (here > found) [found, on] = [here, day[row]!];
  }
  return found;
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
  let own = new Float64Array(64);
  // Cycles come by foot, and so by horse.
  for (let i = 0; i < keep.length; ) {
    const of = horse.codes[keep[i]!]!;
    let n = 0;
    for (; i < keep.length && horse.codes[keep[i]!] === of; i++) {
      if (n === own.length) own = enlarged(own);
      own[n++] = days[keep[i]!]!;
    }
    const sorted = own.subarray(0, n).sort();
    const middle = (sorted[(n - 1) >> 1]! + sorted[n >> 1]!) / 2;
    usual.set(horse.levels[of]!, { days: Math.round(middle), cycles: n });
  }
  return usual;
}

function enlarged(values: Float64Array): Float64Array<ArrayBuffer> {
  const larger = new Float64Array(2 * values.length);
  larger.set(values);
  return larger;
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
