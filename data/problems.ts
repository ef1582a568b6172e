import type { Horse } from './horses.ts';
import type { Draw } from './random.ts';
import { DAYS_PER_YEAR, type Relief, TRUTH } from './truth.ts';
import { Problem, runCycle } from './two-state.ts';
import type { Visit } from './visits.ts';

/** The four problems that come and go on one foot. */
export interface FootProblems {
  readonly separation: Problem;
  readonly frog: Problem;
  readonly wall: Problem;
  readonly crack: Problem;
  crackOrigin: 'ground' | 'coronet';
}

/** What was done at the start of a cycle. */
export interface CycleStart {
  readonly day: number;
  readonly relief: Relief;
  readonly treated: boolean;
}

/** Before the first visit: five unseen cycles of the yard's usual length, all clear at their start. */
export function problemsBefore(horse: Horse, first: Visit, draw: Draw): FootProblems {
  const length = horse.yard.meanDays;
  const start = first.day - 5 * length;
  const problems: FootProblems = {
    separation: new Problem(false, start),
    frog: new Problem(false, start),
    wall: new Problem(false, start),
    crack: new Problem(false, start),
    crackOrigin: 'ground',
  };
  for (let i = 0; i < 5; i++) {
    const from = { day: start + i * length, relief: 'none', treated: false } as const;
    runProblems(problems, horse, from, { ...first, day: from.day + length }, draw);
  }
  return problems;
}

/** Runs all problems from one trim to the next visit; true if the coronet was injured on the way. */
export function runProblems(
  problems: FootProblems,
  horse: Horse,
  from: CycleStart,
  to: Visit,
  draw: Draw,
): boolean {
  const years = (to.day - from.day) / DAYS_PER_YEAR;
  const crackedAtStart = problems.crack.present;
  const { moisture, terrain } = to;

  const { separation, frogInfection, wallInfection, crack } = TRUTH;
  const onset = separation.onsetRatio;
  const clearing = separation.clearingRatio;
  const weeks6 = (to.day - from.day) / 42;
  const exponent = horse.yard.exponent ?? separation.exponent;
  runCycle(
    problems.separation,
    from.day,
    to.day,
    {
      onsetHazard:
        separation.hazardAt42Days *
        onset.breedType[horse.breedType] *
        onset.moisture[moisture] *
        onset.terrain[terrain] *
        weeks6 ** exponent,
      exponent,
      clearingPerYear:
        separation.clearingPerYear *
        clearing.breedType[horse.breedType] *
        clearing.moisture[moisture] *
        clearing.relief[from.relief],
    },
    draw,
  );
  const steady = (onsetPerYear: number, clearingPerYear: number) => ({
    onsetHazard: onsetPerYear * years,
    exponent: 1,
    clearingPerYear,
  });
  const frogClearing =
    frogInfection.clearingPerYear[moisture] * (from.treated ? frogInfection.clearingRatioTreated : 1);
  runCycle(problems.frog, from.day, to.day, steady(frogInfection.onsetPerYear[moisture], frogClearing), draw);
  const wallOnset =
    wallInfection.onsetPerYear[moisture] * (crackedAtStart ? wallInfection.onsetRatioCrack : 1);
  const wallClearing =
    wallInfection.clearingPerYear[moisture] * (from.treated ? wallInfection.clearingRatioTreated : 1);
  runCycle(problems.wall, from.day, to.day, steady(wallOnset, wallClearing), draw);

  const cracksBefore = problems.crack.spells.length;
  runCycle(
    problems.crack,
    from.day,
    to.day,
    steady(crack.onsetPerYear[moisture], crack.clearingPerYear),
    draw,
  );
  if (problems.crack.spells.length > cracksBefore) problems.crackOrigin = 'ground';
  const injured = draw.chance(1 - Math.exp(-crack.injuryPerYear * years));
  if (injured && !problems.crack.present && draw.chance(crack.crackAfterInjury)) {
    problems.crack.begin(to.day);
    problems.crackOrigin = 'coronet';
  }
  return injured;
}
