import type { FootHistory } from '../foot-history.ts';
import type { FootRow } from '../foot-row.ts';
import type { HorseHistory } from '../herd.ts';
import { DAYS_PER_YEAR, FEET, TRUTH } from '../truth.ts';
import { problemTruth, round } from '../truth-file.ts';

/** One foot from one recorded visit to the next, the ground since then known. */
interface Cycle {
  readonly of: HorseHistory;
  readonly foot: FootHistory;
  readonly from: FootRow;
  readonly to: FootRow;
  readonly days: number;
}

function cyclesOf(herd: readonly HorseHistory[]): Cycle[] {
  return herd.flatMap((of) =>
    FEET.flatMap((name) => {
      const foot = of.feet[name];
      return foot.rows.slice(1).flatMap((to, i): Cycle[] => {
        const from = foot.rows[i]!;
        const days = to.visit_date - from.visit_date;
        return days < 7 || days > 365 ? [] : [{ of, foot, from, to, days }];
      });
    }),
  );
}

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

/**
 * Risk that a foot clear after the trim has a separation at a visit `days` later, for cumulative hazard h·(t/days)^k
 * and clearing ρ a day: ∫ dH(t) exp(−(H(d) − H(t)) − ρ(d − t)), any number of returns between. Simpson's rule in H.
 */
export function riskAtVisit(h: number, k: number, rho: number, days: number): number {
  const steps = 200;
  const at = (v: number): number => Math.exp(-h * (1 - v) - rho * days * (1 - v ** (1 / k)));
  let sum = at(0) + at(1);
  for (let i = 1; i < steps; i++) sum += at(i / steps) * (i % 2 ? 4 : 2);
  return (h * sum) / (3 * steps);
}

/** Mean risk at `days` over the herd's own mix of cycles that began clear. */
function herdRisk(cycles: readonly Cycle[], days: number): number {
  const { separation } = TRUTH;
  return mean(
    cycles.flatMap(({ of, from, to }) => {
      if (from.separation_grade !== 0 || !to.moisture || !to.terrain) return [];
      const exponent = of.horse.yard.exponent ?? separation.exponent;
      const { onsetRatio: onset, clearingRatio: clearing } = separation;
      const h =
        separation.hazardAt42Days *
        onset.breedType[of.horse.breedType] *
        onset.moisture[to.moisture] *
        onset.terrain[to.terrain] *
        (days / 42) ** exponent;
      const perYear =
        separation.clearingPerYear * clearing.breedType[of.horse.breedType] * clearing.moisture[to.moisture];
      return [riskAtVisit(h, exponent, perYear / DAYS_PER_YEAR, days)];
    }),
  );
}

/** What each question of the learning page asks, as it was put into the herd. */
export function learningTruths(herd: readonly HorseHistory[], fewVisits: string) {
  const { growth, frogInfection } = TRUTH;
  const cycles = cyclesOf(herd);
  const measured = cycles.filter(
    ({ from, to }) => from.toe_after_mm !== null && to.toe_before_mm !== null && to.terrain !== null,
  );
  const wear = mean(measured.map(({ to }) => growth.wearMmPer30d[to.terrain!]));
  const own = measured.filter(({ of }) => of.horse.row.horse_id === fewVisits);
  const days = own.reduce((sum, cycle) => sum + cycle.days, 0);
  const ownRate = own.reduce(
    (sum, { of, foot, to, days: d }) =>
      sum +
      (d / days) *
        (growth.grossMmPer30d[of.horse.breedType] +
          of.effects.growthMmPer30d +
          foot.growthMmPer30d -
          growth.wearMmPer30d[to.terrain!]),
    0,
  );
  return {
    timesTheRisk10To5Weeks: round(herdRisk(cycles, 70) / herdRisk(cycles, 35)),
    exponent: herd[0]!.horse.yard.exponent,
    draftNetGrowthMmPer30dOnHerdsGround: round(growth.grossMmPer30d.draft - wear),
    ponyNetGrowthMmPer30dOnHerdsGround: round(growth.grossMmPer30d.pony - wear),
    shareReturned90Days: problemTruth(herd, 'separation').shareReturnedByDays[90],
    frogOnsetPerFootYearWet: frogInfection.onsetPerYear.wet,
    fewVisits: { horseId: fewVisits, netGrowthMmPer30d: round(ownRate) },
  };
}
