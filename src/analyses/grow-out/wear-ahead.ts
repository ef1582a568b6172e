import { type CivilDay, isoFromDay } from '../../core/civil-day.ts';
import { isUnavailable } from '../../core/outcome.ts';
import { literal } from '../../engine/sql-text.ts';
import type { ClusteredRate } from '../../stats/clustered-rate.ts';
import { type AskContext, remembered } from '../analysis.ts';
import { cycleTable } from '../cycle-table.ts';
import { wearAsk, wearRates } from '../wear/rates.ts';

/** What the ground wears off, as far as marks in the wall tell it. */
export interface WearAhead {
  /** mm per 30 days on a ground; where no ground was recorded, on all; null where marks do not tell. */
  on(terrain: string | null): ClusteredRate | null;
}

/** Wear by ground, from cycles ended by a day where one is given. */
export async function wearAhead(context: AskContext, asOf?: CivilDay): Promise<WearAhead> {
  const until = asOf === undefined ? [] : [`next_date <= DATE ${literal(isoFromDay(asOf))}`];
  const [all, ...grounds] = await remembered(context, `wear ahead ${asOf ?? ''}`, async () => {
    const table = await cycleTable(context, wearAsk({ by: 'terrain' }, until));
    return wearRates(table, { by: 'terrain' });
  });
  const told = ({ wear }: { readonly wear: (typeof all & object)['wear'] }): ClusteredRate | null =>
    isUnavailable(wear) ? null : wear;
  const byGround = new Map(grounds.map((rates) => [rates.level, told(rates)]));
  return {
    on: (terrain) => (terrain === null ? told(all!) : (byGround.get(terrain) ?? null)),
  };
}
