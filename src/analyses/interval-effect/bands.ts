import type { Estimate } from '../../core/outcome.ts';
import { isUnavailable } from '../../core/outcome.ts';
import { INTERVAL_BANDS } from '../../herd/cycle-levels.ts';
import { clusteredShare } from '../../stats/design-effect.ts';
import type { Counts } from '../format.ts';
import { allOf, countOf, isLevel, rowsByLevel } from '../groups.ts';
import type { IntervalAnswer } from './answer.ts';

interface BandShare {
  readonly band: string;
  /** Mean of the cycles' weeks. */
  readonly weeks: number;
  readonly share: Estimate;
  readonly counts: Counts;
  readonly where: string;
}

/** Share with the problem at the next visit by length of interval; bands of one horse are left out. */
export function shareByBand({ rows, where }: IntervalAnswer): BandShare[] {
  const byBand = rowsByLevel(rows.band);
  return INTERVAL_BANDS.flatMap((band) => {
    const keep = (byBand[rows.band.levels.indexOf(band)] ?? []).filter((row) => rows.start[row] === 0);
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
