import type { CivilDay } from '../../core/civil-day.ts';
import { isUnavailable } from '../../core/outcome.ts';
import type { ClusteredRate } from '../../stats/clustered-rate.ts';
import { type AskContext, remembered } from '../analysis.ts';
import { type CycleAsk, cycleTable, endedAsk } from '../cycle-table.ts';
import { wearAsk, wearRates } from '../wear/rates.ts';

/** What the ground wears off, as far as marks in the wall tell it. */
export interface WearAhead {
  /** mm per 30 days on a ground; where no ground was recorded, on all; null where marks do not tell. */
  on(terrain: string | null): ClusteredRate | null;
}

/** Wear by ground, from cycles ended by a day where one is given. */
export async function wearAhead(context: AskContext, asOf?: CivilDay): Promise<WearAhead> {
  const [all, ...grounds] = await remembered(context, `wear ahead ${asOf ?? ''}`, async () => {
    const ask = wearAsk({ by: 'terrain' });
    const table = await cycleTable(context, asOf === undefined ? ask : endedBy(ask, asOf));
    return wearRates(table, { by: 'terrain' });
  });
  const told = ({ wear }: { readonly wear: (typeof all & object)['wear'] }): ClusteredRate | null =>
    isUnavailable(wear) ? null : wear;
  const byGround = new Map(grounds.map((rates) => [rates.level, told(rates)]));
  return {
    on: (terrain) => (terrain === null ? told(all!) : (byGround.get(terrain) ?? null)),
  };
}

/** Only the cycles ended by a day: by one column, whichever day is asked for. */
function endedBy(ask: CycleAsk, day: CivilDay): CycleAsk {
  return {
    ...ask,
    columns: { ...ask.columns, ended: endedAsk },
    also: ({ columns }) => {
      const ended = columns.get('ended') as Float64Array;
      return (row) => ended[row]! <= day;
    },
  };
}
