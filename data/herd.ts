import { drawHorseEffects, type FootHistory, footHistory, type HorseEffects } from './foot-history.ts';
import type { FootRow } from './foot-row.ts';
import { drawHorse, type Horse } from './horses.ts';
import { blankCells } from './missing-cells.ts';
import { drawsFor } from './random.ts';
import { FEET, type Foot, TRUTH } from './truth.ts';
import { horseVisits, type Span, type Visit, yardDays } from './visits.ts';
import { YARDS, type Yard } from './yards.ts';

export interface HorseHistory {
  readonly horse: Horse;
  /** As they were, before any cell was blanked, trims elsewhere included. */
  readonly visits: readonly Visit[];
  readonly effects: HorseEffects;
  readonly feet: Readonly<Record<Foot, FootHistory>>;
  /** By date, then foot; cells blanked. */
  readonly rows: readonly FootRow[];
}

/** What tells one invented herd from another; all else is as TRUTH has it. */
export interface HerdPlan {
  readonly seed: number;
  readonly yards: readonly Yard[];
  readonly span: Span;
}

const DEMO: HerdPlan = { seed: TRUTH.seed, yards: YARDS, span: TRUTH };

/**
 * Horses one after the other, yard by yard, for ever: the twelve yards, then the same grounds again under
 * numbered names. The caller stops. Same seed, same horses.
 */
export function* herd(idDigits = 3, plan = DEMO): Generator<HorseHistory> {
  const { seed, yards, span } = plan;
  let index = 0;
  for (let round = 0; ; round++) {
    for (const [place, base] of yards.entries()) {
      const yard: Yard = round === 0 ? base : { ...base, clientId: `${base.clientId} ${round + 1}` };
      const days = yardDays(yard, drawsFor(seed - 1 - round * yards.length - place), span);
      for (let n = 0; n < yard.horses; n++) {
        yield horseHistory(index, yard, days, idDigits, plan);
        index++;
      }
    }
  }
}

/** The committed herd: one round of the twelve yards. */
export const demoHerd = (): HorseHistory[] => oneRound(DEMO);

/** One round of a plan's yards. */
export function oneRound(plan: HerdPlan): HorseHistory[] {
  const horses = plan.yards.reduce((sum, yard) => sum + yard.horses, 0);
  const all = herd(3, plan);
  return Array.from({ length: horses }, () => all.next().value as HorseHistory);
}

function horseHistory(
  index: number,
  yard: Yard,
  days: readonly number[],
  idDigits: number,
  { seed, span }: HerdPlan,
): HorseHistory {
  const draw = drawsFor(seed + index);
  const horse = drawHorse(index, yard, draw, idDigits);
  const effects = drawHorseEffects(horse, draw);
  let visits = horseVisits(yard, days, draw, span);
  while (visits.length === 0) visits = horseVisits(yard, days, draw, span);
  const feet = Object.fromEntries(
    FEET.map((foot, place) => {
      const breaking = drawsFor(TRUTH.wallBreaking.seed + index * FEET.length + place);
      return [foot, footHistory(horse, effects, foot, visits, draw, breaking)];
    }),
  ) as Record<Foot, FootHistory>;
  const rows = feet.LF.rows.flatMap((_, i) => FEET.map((foot) => feet[foot].rows[i]!));
  for (const row of rows) blankCells(row, draw);
  return { horse, visits, effects, feet, rows };
}
