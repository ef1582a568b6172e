import type { CyclePlans } from '../../stats/reset-cycle.ts';
import type { ResetPoint } from '../../stats/reset-risk.ts';
import type { FootNow } from './data.ts';
import type { HorsePlan } from './plan.ts';
import { type RiskModel, riskPoint } from './risk.ts';

/** So many feet of one group seen at one interval. */
interface FeetAlike {
  readonly foot: FootNow;
  readonly time: number;
  feet: number;
}

/** Feet that share what their risk is told by, and their interval, in the order of the horses. */
export function feetAlike(base: readonly HorsePlan[], daysOf: (plan: HorsePlan) => number): FeetAlike[] {
  const all: FeetAlike[] = [];
  const seen = new Map<FootNow['groups'], Map<number, FeetAlike>>();
  for (const plan of base) {
    const time = daysOf(plan);
    let last: FeetAlike | null = null;
    for (const foot of plan.horse.feet) {
      // The feet of a horse share its interval, and mostly their groups.
      if (last?.foot.groups === foot.groups) {
        last.feet += 1;
        continue;
      }
      const ofGroup: Map<number, FeetAlike> = seen.get(foot.groups) ?? new Map<number, FeetAlike>();
      const known: FeetAlike | undefined = ofGroup.get(time);
      if (known) {
        known.feet += 1;
        last = known;
        continue;
      }
      const first: FeetAlike = { foot, time, feet: 1 };
      last = first;
      all.push(first);
      seen.set(foot.groups, ofGroup.set(time, first));
    }
  }
  return all;
}

/** The feet of each plan as cells of the model, in each season alike. */
export function cyclePlans(model: RiskModel, feet: readonly (readonly FeetAlike[])[]): CyclePlans {
  const seasons: readonly (string | null)[] = model.groups.find(({ by }) => by === 'season')?.levels ?? [
    null,
  ];
  const points: ResetPoint[] = [];
  const known = new Map<FootNow['groups'], readonly number[]>();
  /** Places of the points of a foot's groups, season by season; those without a point are left out. */
  const placesOf = (foot: FootNow): readonly number[] => {
    let places = known.get(foot.groups);
    if (!places) {
      places = seasons.flatMap((season) => {
        const point = riskPoint(model, foot, season);
        return point ? [points.push(point) - 1] : [];
      });
      known.set(foot.groups, places);
    }
    return places;
  };
  const scenarios = feet.map((alike) => {
    const cells = alike.flatMap(({ foot, time, feet: n }) =>
      placesOf(foot).map((point) => ({ point, time, weight: n / seasons.length })),
    );
    return {
      point: Int32Array.from(cells, ({ point }) => point),
      time: Float64Array.from(cells, ({ time }) => time),
      weight: Float64Array.from(cells, ({ weight }) => weight),
    };
  });
  return { points, scenarios };
}
