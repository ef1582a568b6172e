import type { BreedType, Terrain } from './truth.ts';

export interface Yard {
  readonly clientId: string;
  readonly horses: number;
  /** Ground in May–October and in November–April. */
  readonly summer: Terrain;
  readonly winter: Terrain;
  /** Above 0 wetter than usual; shifts the chance of a wet cycle. */
  readonly wetness: number;
  /** Usual days between visits. */
  readonly meanDays: number;
  readonly practitioner: string;
  readonly breeds: Readonly<Record<BreedType, number>>;
  /** Of the onset of separation, where a herd has another than the demo herd's. */
  readonly exponent?: number;
}

export const HEAVY = { draft: 5, warmblood: 1, light: 2, pony: 2, donkey: 0 };
export const SPORT = { draft: 0, warmblood: 5, light: 4, pony: 1, donkey: 0 };
export const MIXED = { draft: 2, warmblood: 2, light: 3, pony: 3, donkey: 1 };
export const SMALL = { draft: 0, warmblood: 0, light: 2, pony: 6, donkey: 2 };

/**
 * Twelve invented yards. Late bookers are mostly the wet ones, on purpose: ignoring the ground, the interval
 * gets the blame. Mossgarth (wet, prompt) and Thornacre (dry, late) keep the two apart enough to be told.
 */
export const YARDS: readonly Yard[] = [
  yard('Ouzelford', 12, 'soft', 'soft', 1.1, 63, 'Rowan', HEAVY),
  yard('Brackenlow', 8, 'mixed', 'soft', 0.7, 58, 'Ashe', MIXED),
  yard('Saltgrass', 10, 'soft', 'soft', 0.9, 56, 'Ashe', HEAVY),
  yard('Dapplemere', 14, 'mixed', 'mixed', 0.3, 49, 'Linden', MIXED),
  yard('Flintover', 6, 'rocky', 'rocky', -0.8, 38, 'Rowan', SMALL),
  yard('Rushholt', 11, 'mixed', 'soft', 1.0, 66, 'Linden', MIXED),
  yard('Cinderlea', 9, 'firm', 'mixed', -0.4, 42, 'Ashe', SPORT),
  yard('Hollinbar', 13, 'mixed', 'mixed', 0.0, 45, 'Rowan', MIXED),
  yard('Pebblewick', 7, 'rocky', 'firm', -0.6, 44, 'Linden', MIXED),
  yard('Mossgarth', 10, 'soft', 'mixed', 0.6, 36, 'Ashe', SMALL),
  yard('Quernside', 12, 'firm', 'firm', -0.9, 35, 'Ashe', SPORT),
  yard('Thornacre', 8, 'firm', 'mixed', -0.3, 60, 'Rowan', MIXED),
];

export const PRACTITIONERS = ['Ashe', 'Linden', 'Rowan'] as const;

export function yard(
  clientId: string,
  horses: number,
  summer: Terrain,
  winter: Terrain,
  wetness: number,
  meanDays: number,
  practitioner: string,
  breeds: Readonly<Record<BreedType, number>>,
): Yard {
  return { clientId, horses, summer, winter, wetness, meanDays, practitioner, breeds };
}
