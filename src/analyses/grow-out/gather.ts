import type { CivilDay } from '../../core/civil-day.ts';
import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import { ahead } from '../ahead.ts';
import type { AskContext } from '../analysis.ts';
import { type GrowthForecast, growthForecast } from '../growth/forecast.ts';
import { pacer } from '../pacing.ts';
import { asked, type GrowingOut, type GrowOutOptions } from './options.ts';
import { isOver, type Projection, projected } from './project.ts';
import { otherCracksWhere, type Standing } from './standing.ts';
import { otherCracksInHerd, standingInHerd } from './standing-herd.ts';
import { wearAhead } from './wear-ahead.ts';

/** What stands on the herd's feet now, and when it should be grown out. */
export interface StandingNow {
  readonly day: CivilDay;
  /** Null where what stands now was not asked for. */
  readonly growth: Outcome<GrowthForecast> | null;
  readonly projections: readonly Projection[];
  /** Stands, but without a height or a toe length. */
  readonly unmeasured: readonly Standing[];
  /** Measured, but growth cannot tell. */
  readonly untold: readonly Standing[];
  /** Cracks from the ground, or from an unknown place: which, and how many feet. */
  readonly otherCracks: { readonly where: string; readonly feet: number; readonly horses: number };
}

type Asked = Pick<GrowOutOptions, 'problem' | 'seen_within_days'>;

/** Every foot of the cohort on which something has to grow out, as of `day`, soonest first. */
export async function standingNow(context: AskContext, day: CivilDay, options: Asked): Promise<StandingNow> {
  const { engine, signal } = context;
  const pause = pacer(signal);
  const forecast = ahead({ engine }, () => growthForecast(context));
  const worn = ahead({ engine }, () => wearAhead(context));
  const within = options.seen_within_days;
  const told = ahead({ engine }, () => standingInHerd(context, asked(options), day, within));
  const others = ahead({ engine }, otherCracks);
  const growth = await forecast();
  const wear = await worn();
  const standing = await told();
  const projections: Projection[] = [];
  const unmeasured: Standing[] = [];
  const untold: Standing[] = [];
  for (const [i, one] of standing.entries()) {
    if (!(one.distanceMm >= 0)) unmeasured.push(one);
    else {
      const projection = isUnavailable(growth) ? null : projected(one, growth, wear);
      if (projection === null) untold.push(one);
      else if (!isOver(projection, day)) projections.push(projection);
      if (i % 16 === 0) await pause();
    }
  }
  projections.sort((a, b) => dayOut(a) - dayOut(b) || (a.standing.footKey < b.standing.footKey ? -1 : 1));
  return { day, growth, projections, unmeasured, untold, otherCracks: await others() };

  async function otherCracks(): Promise<StandingNow['otherCracks']> {
    const where = otherCracksWhere(day, within);
    if (options.problem !== 'all' && options.problem !== ('coronet_crack' satisfies GrowingOut))
      return { where, feet: 0, horses: 0 };
    return { where, ...(await otherCracksInHerd(context, day, within)) };
  }
}

const dayOut = ({ standing, days }: Projection): number => standing.seenOn + days.estimate;
