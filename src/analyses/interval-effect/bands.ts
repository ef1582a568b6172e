import type { Estimate } from '../../core/outcome.ts';
import { isUnavailable } from '../../core/outcome.ts';
import { INTERVAL_BANDS } from '../../herd/cycle-levels.ts';
import { clusteredShare } from '../../stats/design-effect.ts';
import type { Counts } from '../format.ts';
import { allOf, countOf, isLevel } from '../groups.ts';
import type { IntervalRows } from './data.ts';

export interface BandShare {
  readonly band: string;
  /** Mean of the cycles' weeks. */
  readonly weeks: number;
  readonly share: Estimate;
  readonly counts: Counts;
  readonly where: string;
}

/** Share with the problem at the next visit by length of interval; bands of one horse are left out. */
export function shareByBand(rows: IntervalRows, where: string): BandShare[] {
  const byBand = clearRowsByBand(rows);
  return INTERVAL_BANDS.flatMap((band, k) => {
    const keep = byBand[k]!;
    const share = clusteredShare({
      success: Uint8Array.from(keep, (row) => rows.end[row]!),
      cluster: Int32Array.from(keep, (row) => rows.horse[row]!),
    });
    if (isUnavailable(share)) return [];
    const weeks = keep.reduce((sum, row) => sum + rows.days[row]!, 0) / keep.length / 7;
    return [
      {
        band,
        weeks,
        share,
        counts: countOf(rows.horse, rows.foot, keep),
        where: allOf(where, isLevel('interval_band', band)),
      },
    ];
  });
}

/** Cycles that began clear by `interval_band`: by their whole weeks, those under 5 as one and those from 10 on. */
function clearRowsByBand({ days, start }: IntervalRows): number[][] {
  const byBand = INTERVAL_BANDS.map((): number[] => []);
  for (let row = 0; row < days.length; row++) {
    if (start[row] !== 0) continue;
    byBand[Math.min(Math.max(Math.floor(days[row]! / 7) - 4, 0), 6)]!.push(row);
  }
  return byBand;
}
