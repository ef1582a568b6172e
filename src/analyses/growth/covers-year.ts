import type { GrowthRows } from './data.ts';

/** A season is told apart where no quarter of the year is without the middle of a cycle. */
export function coversYear({ seasonCos, seasonSin }: Pick<GrowthRows, 'seasonCos' | 'seasonSin'>): boolean {
  const days = 365;
  const seen = new Uint8Array(days);
  for (let row = 0, left = days; row < seasonCos.length && left > 0; row++) {
    const turn = Math.atan2(seasonSin[row]!, seasonCos[row]!) / (2 * Math.PI);
    const day = Math.floor((turn < 0 ? turn + 1 : turn) * days) % days;
    if (seen[day] === 0) left -= 1;
    seen[day] = 1;
  }
  const first = seen.indexOf(1);
  if (first < 0) return false;
  let gap = 0;
  for (let i = 1; i <= days; i++) {
    if (seen[(first + i) % days] === 1) gap = 0;
    else if (++gap > days / 4) return false;
  }
  return true;
}
