import { isoFromDay } from '../src/core/civil-day.ts';
import type { BadRow } from './bad-rows.ts';
import type { HorseHistory } from './herd.ts';
import type { FootProblems } from './problems.ts';
import { FEET, TRUTH } from './truth.ts';
import type { Spell } from './two-state.ts';
import type { WallCycle } from './wall-breaking.ts';
import { YARDS } from './yards.ts';

export const PROBLEMS = ['separation', 'frog', 'wall', 'crack'] as const satisfies (keyof FootProblems)[];
type ProblemName = (typeof PROBLEMS)[number];

export interface TruthCounts {
  readonly csvRecords: number;
  readonly soundRows: number;
  readonly horses: number;
}

/** Everything that decided the herd, what was drawn for each horse, and every row that must be set aside. */
export function truthFile(
  histories: readonly HorseHistory[],
  badRows: readonly BadRow[],
  counts: TruthCounts,
) {
  const { firstDay, lastDay, ...parameters } = TRUTH;
  return {
    about: 'An invented herd: the values that made it. Not evidence about horses.',
    firstDate: isoFromDay(firstDay),
    lastDate: isoFromDay(lastDay),
    parameters,
    yards: YARDS,
    counts,
    badRows,
    cyclesToFlag: histories.flatMap(oddCycles),
    problems: Object.fromEntries(PROBLEMS.map((name) => [name, problemTruth(histories, name)])),
    wallBroken: wallTruth(histories),
    horses: histories.map(({ horse, effects, feet }) => ({
      horseId: horse.row.horse_id,
      clientId: horse.row.client_id,
      breedType: horse.breedType,
      growthMmPer30d: round(effects.growthMmPer30d),
      driftDegPer30d: round(effects.driftDegPer30d),
      footGrowthMmPer30d: Object.fromEntries(FEET.map((foot) => [foot, round(feet[foot].growthMmPer30d)])),
    })),
  };
}

/** Cycles of one horse that are under 7 or over 365 days: real, but not to be taken as they stand. */
function oddCycles({ horse, feet }: HorseHistory) {
  const days = feet.LF.rows.map((row) => row.visit_date);
  return days.flatMap((day, i) => {
    const length = day - (days[i - 1] ?? day - 30);
    if (length >= 7 && length <= 365) return [];
    const dates = { from: isoFromDay(day - length), to: isoFromDay(day) };
    return [{ horseId: horse.row.horse_id, ...dates, days: length }];
  });
}

/** The true chance that the wall broke away by the next visit, averaged over the cycles of one kind, and the share that did. */
function wallTruth(histories: readonly HorseHistory[]) {
  const cycles = histories.flatMap(({ feet }) => FEET.flatMap((foot) => feet[foot].wallCycles));
  return (['sound', 'white_line', 'near', 'clear'] as const).flatMap((place) =>
    (['none', 'bevel_only', 'relieved'] as const).flatMap((relief) => {
      const alike = cycles.filter((cycle) => cycle.place === place && cycle.relief === relief);
      if (alike.length === 0) return [];
      const mean = (value: (cycle: WallCycle) => number) =>
        round(alike.reduce((sum, cycle) => sum + value(cycle), 0) / alike.length);
      return [
        {
          place,
          relief,
          cycles: alike.length,
          meanChance: mean(({ chance }) => chance),
          shareBroken: mean(({ broken }) => Number(broken)),
        },
      ];
    }),
  );
}

/** What happened to one problem while the feet were under observation, against what visits could see of it. */
export function problemTruth(histories: readonly HorseHistory[], name: ProblemName) {
  let onsets = 0;
  let onsetsSeen = 0;
  let presentDays = 0;
  let days = 0;
  const returns: { days: number; returned: boolean }[] = [];
  for (const { feet } of histories) {
    for (const foot of FEET) {
      const visits = feet[foot].rows.map((row) => row.visit_date);
      const spells = feet[foot].problems[name].spells;
      const first = visits[0]!;
      const last = visits.at(-1)!;
      days += last - first;
      onsets += spells.filter((spell) => spell.start > first && spell.start <= last).length;
      presentDays += spells.reduce(
        (sum, { start, end }) => sum + Math.max(0, Math.min(end ?? last, last) - Math.max(start, first)),
        0,
      );
      const seen = visits.map((day) => presentOn(spells, day));
      onsetsSeen += seen.filter((present, i) => i > 0 && present && !seen[i - 1]).length;
      for (const [i, present] of seen.entries()) {
        if (present || !seen[i - 1]) continue;
        const clearFrom = visits[i]!;
        const next = spells.find((spell) => spell.start > clearFrom && spell.start <= last);
        returns.push({ days: (next?.start ?? last) - clearFrom, returned: next !== undefined });
      }
    }
  }
  return {
    onsets,
    onsetsSeenAtVisits: onsetsSeen,
    shareOfTimePresent: round(presentDays / days),
    firstClearVisits: returns.length,
    shareReturnedByDays: {
      90: round(returned(returns, 90)),
      180: round(returned(returns, 180)),
      365: round(returned(returns, 365)),
    },
  };
}

function presentOn(spells: readonly Spell[], day: number): boolean {
  return spells.some(({ start, end }) => start <= day && (end === null || end > day));
}

/** Kaplan & Meier 1958 on the true dates: share with a true return within so many days of the first clear visit. */
function returned(returns: readonly { days: number; returned: boolean }[], by: number): number {
  const sorted = [...returns].sort((a, b) => a.days - b.days);
  let free = 1;
  for (const [i, r] of sorted.entries()) {
    if (r.days > by) break;
    if (r.returned) free *= 1 - 1 / (sorted.length - i);
  }
  return 1 - free;
}

export function round(value: number): number {
  return Math.round(value * 10_000) / 10_000;
}
