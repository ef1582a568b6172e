import type { CivilDay } from '../../core/civil-day.ts';
import { isUnavailable } from '../../core/outcome.ts';
import { numbers, type Table } from '../../core/table.ts';
import { type ClusteredRate, clusteredRate } from '../../stats/clustered-rate.ts';
import { type AskContext, remembered } from '../analysis.ts';
import { cycleTable, endedAsk } from '../cycle-table.ts';
import { codeColumn } from '../groups.ts';
import { wearAsk } from '../wear/rates.ts';

/** What the ground wears off, as far as marks in the wall tell it. */
export interface WearAhead {
  /** mm per 30 days on a ground; where no ground was recorded, on all; null where marks do not tell. */
  on(terrain: string | null): ClusteredRate | null;
}

/** Wear by ground, from cycles ended by a day where one is given. */
export function wearAhead(context: AskContext, asOf?: CivilDay): Promise<WearAhead> {
  return remembered(context, `wear ahead ${asOf ?? ''}`, async () => {
    const ask = wearAsk({ by: 'terrain' });
    const table = await cycleTable(
      context,
      // By one column, whichever day is asked for: the same cycles then serve for all of them.
      asOf === undefined ? ask : { ...ask, columns: { ...ask.columns, ended: endedAsk } },
    );
    const until = asOf ?? Number.POSITIVE_INFINITY;
    return wearUntil(table, asOf === undefined ? null : numbers(table, 'ended'), until);
  });
}

/** `ended`: the day on which each cycle ended; null where all of them count. */
function wearUntil(table: Table, ended: Float64Array | null, until: number): WearAhead {
  const [days, gross, net] = [numbers(table, 'days'), numbers(table, 'gross'), numbers(table, 'net')];
  const horse = codeColumn(table, 'horse_id').codes;
  const { levels, codes } = codeColumn(table, 'level');
  /** On one ground, or on all. */
  const rate = (level: number | null): ClusteredRate | null => {
    const [worn, months] = [new Float64Array(codes.length), new Float64Array(codes.length)];
    const cluster = new Int32Array(codes.length);
    let n = 0;
    for (let row = 0; row < codes.length; row++) {
      if ((ended && !(ended[row]! <= until)) || (level !== null && codes[row] !== level)) continue;
      worn[n] = gross[row]! - net[row]!;
      months[n] = days[row]! / 30;
      cluster[n++] = horse[row]!;
    }
    const found = clusteredRate(worn.subarray(0, n), months.subarray(0, n), cluster.subarray(0, n));
    return isUnavailable(found) ? null : found;
  };
  const all = rate(null);
  const byGround = new Map(levels.map((level, k) => [level, rate(k)]));
  return { on: (terrain) => (terrain === null ? all : (byGround.get(terrain) ?? null)) };
}
