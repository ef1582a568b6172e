import { isUnavailable } from '../../core/outcome.ts';
import { type ClusteredShare, clusteredShare } from '../../stats/design-effect.ts';
import type { Counts } from '../format.ts';
import { allOf, countOf } from '../groups.ts';
import { cyclesWhere, isPlace, type ReliefRows } from './data.ts';
import { PLACES, type Place, type ReliefOptions } from './options.ts';
import { placesIn } from './scopes.ts';

/** How often separated wall at one distance was relieved. */
export interface DoneShare {
  readonly place: Place;
  readonly share: ClusteredShare;
  readonly relieved: number;
  readonly counts: Counts;
  readonly where: string;
}

export function doneShares(rows: ReliefRows, options: ReliefOptions): DoneShare[] {
  return placesIn(rows).flatMap((place) => {
    const keep = Array.from(rows.days.keys()).filter(
      (row) => rows.place.codes[row] === PLACES.indexOf(place),
    );
    const share = clusteredShare({
      success: Uint8Array.from(keep, (row) => rows.relieved[row]!),
      cluster: Int32Array.from(keep, (row) => rows.horse[row]!),
    });
    if (isUnavailable(share)) return [];
    return [
      {
        place,
        share,
        relieved: keep.reduce((sum, row) => sum + rows.relieved[row]!, 0),
        counts: countOf(rows.horse, rows.foot, keep),
        where: allOf(cyclesWhere(options), isPlace(options, place)),
      },
    ];
  });
}
