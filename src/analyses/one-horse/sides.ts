import { type Estimate, isUnavailable } from '../../core/outcome.ts';
import { literal } from '../../engine/sql-text.ts';
import { FOOT_LABELS } from '../../herd/vocabularies.ts';
import type { Counts } from '../format.ts';
import { allOf } from '../groups.ts';
import type { HorseRecord } from './data.ts';
import type { HorseGrowth } from './growth.ts';

/** By how much the faster foot of a pair outgrows the other, drawn towards nothing; never below 0 in its estimate. */
export interface SideDifference {
  readonly pair: 'fore' | 'hind';
  /** `left fore` */
  readonly faster: string;
  readonly slower: string;
  readonly difference: Estimate;
  readonly counts: Counts;
  readonly where: string;
  readonly title: string;
}

const FEET_OF = { fore: ['LF', 'RF'], hind: ['LH', 'RH'] } as const;

export function sideDifferences(horse: HorseRecord, growth: HorseGrowth | null): SideDifference[] {
  if (!growth?.horse || isUnavailable(growth.pairs)) return [];
  const { where } = growth.horse;
  return growth.pairs.map(({ pair, difference, counts }) => {
    const [left, right] = FEET_OF[pair];
    const isLeft = difference.estimate >= 0;
    const { estimate, low, high, stdError } = difference;
    return {
      pair,
      faster: FOOT_LABELS[isLeft ? left : right],
      slower: FOOT_LABELS[isLeft ? right : left],
      difference: isLeft ? difference : { estimate: -estimate, low: -high, high: -low, stdError },
      counts,
      where: allOf(where, `"foot" IN (${FEET_OF[pair].map((foot) => literal(foot)).join(', ')})`),
      title: `toe growth, ${pair} feet of ${horse.name ?? horse.id}`,
    };
  });
}
