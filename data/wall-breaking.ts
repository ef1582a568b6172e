import type { Draw } from './random.ts';
import type { SeparationSpell } from './separation-spell.ts';
import { type Relief, TRUTH } from './truth.ts';

export type SeparationPlace = 'sound' | 'white_line' | 'near' | 'clear';

/** One cycle of a foot: what the trim left, the true chance that the wall breaks by the next visit, and whether it did. */
export interface WallCycle {
  readonly place: SeparationPlace;
  readonly relief: Relief;
  readonly chance: number;
  readonly broken: boolean;
}

export function wallCycle(
  separation: SeparationSpell | null,
  relief: Relief,
  days: number,
  draw: Draw,
): WallCycle {
  const { sound, separated, highFromMm, highRatio } = TRUTH.wallBreaking;
  const place = placeOf(separation);
  const high = separation !== null && separation.heightMm >= highFromMm && relief !== 'relieved';
  const at42 = place === 'sound' ? sound : separated[place === 'clear' ? 'clear' : 'near'][relief];
  const chance = -Math.expm1((-at42 * (high ? highRatio : 1) * days) / 42);
  return { place, relief, chance, broken: draw.chance(chance) };
}

function placeOf(separation: SeparationSpell | null): SeparationPlace {
  if (separation === null) return 'sound';
  if (separation.toWhiteLineMm === null) return 'white_line';
  return separation.toWhiteLineMm >= TRUTH.wallBreaking.clearFromMm ? 'clear' : 'near';
}
