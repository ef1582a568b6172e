import type { Draw } from './random.ts';
import type { Relief } from './truth.ts';

/** Where one separation sits and how far up it reaches; drawn once per spell. */
export interface SeparationSpell {
  readonly site: 'white_line' | 'within_wall';
  readonly toWhiteLineMm: number | null;
  heightMm: number;
}

export function drawSeparation(wallMm: number, draw: Draw): SeparationSpell {
  const within = draw.chance(0.4);
  return {
    site: within ? 'within_wall' : 'white_line',
    toWhiteLineMm: within ? draw.between(1, wallMm - 0.5) : null,
    heightMm: draw.between(3, 12),
  };
}

/** Relieved from ground contact when at least 6.4 mm (1/4 in) outside the white line, as common practice has it; else bevelled. */
export function chooseRelief(spell: SeparationSpell, draw: Draw): Relief {
  const clear = spell.toWhiteLineMm !== null && spell.toWhiteLineMm >= 6.4;
  if (draw.chance(clear ? 0.85 : 0.12)) return 'relieved';
  return draw.chance(0.9) ? 'bevel_only' : 'none';
}
