import type { Draw } from './random.ts';

const PLAIN = [
  'Owner reports more grass than usual',
  'Stood well',
  'Restless today',
  'Photographed',
  'Bars laid over, brought down',
  'Flare at the toe',
  'Moved to the lower field last month',
];
/** Commas, quotes, a line break, letters outside ASCII: what a CSV reader has to survive. */
const AWKWARD = [
  'Soft ground, then frost, then soft again',
  'Owner says "sound on grass", short on gravel',
  'Two things:\nchip at the quarter, loose clench of old wall',
  'Says it was "fine, really";\nlook again next time',
  'Völlig trocken – dust in the crevice',
];

export function drawNote(draw: Draw): string | null {
  if (!draw.chance(0.06)) return null;
  return draw.chance(0.35) ? draw.pick(AWKWARD) : draw.pick(PLAIN);
}
