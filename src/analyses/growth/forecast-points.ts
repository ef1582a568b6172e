import { dot } from '../../stats/linear-algebra.ts';
import type { NestedSlopesFit } from '../../stats/nested-slopes.ts';
import type { GrowthRows } from './data.ts';
import { designPoint, type GrowthDesign, herdPoint } from './design.ts';
import { type FootAhead, GROUND_BEFORE } from './forecast-data.ts';

export interface FittedGrowth {
  readonly rows: GrowthRows;
  readonly design: GrowthDesign;
  readonly fit: NestedSlopesFit;
}

/** What places in the design need of the rows and their matrix, which are many times as large. */
export interface GrowthPlaces {
  readonly design: Pick<GrowthDesign, 'names' | 'groupings' | 'levels' | 'shares' | 'season'>;
  /** Of each ground its columns of the design, 0 elsewhere; none where the design has no ground. */
  readonly grounds: ReadonlyMap<string, Float64Array>;
  /** Variance of the rate of a breed type that is new to the model. */
  readonly ofLevels: number;
  /** Of each ground the variance of the rate because it may change. */
  readonly ofGround: ReadonlyMap<string, number>;
}

interface Point {
  readonly x: Float64Array;
  /** Variance of the rate beyond that of the model, where the breed type is new to it. */
  readonly strange: number;
  /** The same because the ground ahead may change. */
  readonly ground: number;
}

export function placesOf(fitted: FittedGrowth): GrowthPlaces {
  const { names, groupings, levels, shares, season } = fitted.design;
  const grounds = groundPoints(fitted.rows, fitted.design);
  return {
    design: { names, groupings, levels, shares, season },
    grounds,
    ofLevels: spreadOfLevels(fitted),
    ofGround: groundChange(fitted, grounds),
  };
}

/**
 * A foot's place in the design, by season: its breed type and ground; the herd's own mix where either is new to the model.
 * Feet that share both share their place. Its `x` is good until another season is asked for.
 */
export function pointsOf({
  design,
  grounds,
  ofLevels,
  ofGround,
}: GrowthPlaces): (ahead: FootAhead) => (cos: number, sin: number) => Point {
  const byBreed = design.groupings.includes('breed_type');
  const breeds = new Map(design.levels.map((level, k) => [level, k]));
  const herd = herdPoint(design);
  const pointOf = (breedType: string, terrain: string): ((cos: number, sin: number) => Point) => {
    const level = byBreed ? breeds.get(breedType) : 0;
    const x = level === undefined ? Float64Array.from(herd) : designPoint(design, level);
    // Columns are centred, so that 0 is the herd's mix.
    grounds.get(terrain)?.forEach((value, j) => {
      x[j]! += value;
    });
    const point = {
      x,
      strange: level === undefined ? ofLevels : 0,
      ground: ofGround.get(terrain) ?? 0,
    };
    return (cos, sin) => {
      if (design.season) {
        x[design.season.cos] = cos;
        x[design.season.sin] = sin;
      }
      return point;
    };
  };
  const known = new Map<string, Map<string, ReturnType<typeof pointOf>>>();
  return ({ breedType, terrain }) => {
    const ofBreed = known.get(breedType) ?? new Map<string, ReturnType<typeof pointOf>>();
    const at = ofBreed.get(terrain) ?? pointOf(breedType, terrain);
    known.set(breedType, ofBreed.set(terrain, at));
    return at;
  };
}

function groundPoints(rows: GrowthRows, design: GrowthDesign): ReadonlyMap<string, Float64Array> {
  const points = new Map<string, Float64Array>();
  if (!design.groupings.includes('terrain')) return points;
  const { levels, codes } = rows.groups.get('terrain')!;
  const p = design.names.length;
  levels.forEach((level, k) => {
    const row = codes.indexOf(k);
    const ofRow = design.x.slice(row * p, row * p + p);
    points.set(
      level,
      ofRow.map((value, j) => (design.groupings[j] === 'terrain' ? value : 0)),
    );
  });
  return points;
}

/**
 * Mean square of what a change of ground did to the rate, by the ground before: feet do not stay on the ground they
 * were last on, and a forecast that holds it would be too sure.
 */
function groundChange(
  { rows, fit }: FittedGrowth,
  grounds: ReadonlyMap<string, Float64Array>,
): ReadonlyMap<string, number> {
  const [now, before] = [rows.groups.get('terrain'), rows.groups.get(GROUND_BEFORE)];
  if (grounds.size === 0 || !now || !before) return new Map();
  const effect = (levels: readonly string[]): number[] =>
    levels.map((level) => dot(grounds.get(level) ?? new Float64Array(fit.beta.length), fit.beta));
  const [effectNow, effectBefore] = [effect(now.levels), effect(before.levels)];
  const n = new Float64Array(before.levels.length);
  const square = new Float64Array(before.levels.length);
  for (let row = 0; row < before.codes.length; row++) {
    const code = before.codes[row]!;
    if (code < 0) continue;
    n[code]! += 1;
    square[code]! += (effectNow[now.codes[row]!]! - effectBefore[code]!) ** 2;
  }
  return new Map(before.levels.map((level, k) => [level, square[k]! / Math.max(1, n[k]!)]));
}

/** Variance of the rates of the breed types around the herd's, by cycles: how far one without a cycle may lie from it. */
function spreadOfLevels({ design, fit }: FittedGrowth): number {
  const shares = herdPoint(design);
  const mean = design.levels.reduce((sum, _, k) => sum + shares[k]! * fit.beta[k]!, 0);
  return design.levels.reduce((sum, _, k) => sum + shares[k]! * (fit.beta[k]! - mean) ** 2, 0);
}
