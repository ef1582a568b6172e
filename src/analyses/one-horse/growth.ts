import { YEAR_DAYS } from '../../core/civil-day.ts';
import { type Estimate, isUnavailable, type Outcome, type Unavailable } from '../../core/outcome.ts';
import { clusterRate, meanRate, unitRate } from '../../stats/nested-predict.ts';
import type { NestedSlopesFit } from '../../stats/nested-slopes.ts';
import type { AskContext } from '../analysis.ts';
import type { Counts } from '../format.ts';
import { allOf, countByLevel, countOf, isLevel } from '../groups.ts';
import { type PairDifference, pairDifferences } from '../growth/asymmetry.ts';
import { type GrowthRows, growthConditions, growthWhere } from '../growth/data.ts';
import { designPoint, type GrowthDesign, herdPoint } from '../growth/design.ts';
import { fittedGrowth } from '../growth/fit.ts';
import type { GrowthOptions } from '../growth/options.ts';
import { recordedInCycles } from '../recorded.ts';
import type { HorseRecord } from './data.ts';

/** A rate of net toe growth, mm per 30 days, with what stands behind it. */
export interface Rate {
  readonly of: string;
  /** The foot's key; null for the horse as a whole and for its group. */
  readonly footKey: string | null;
  readonly rate: Estimate;
  /** At the time of year of the day looked from; the year's mean where no season could be fitted. */
  readonly now: Estimate;
  readonly counts: Counts;
  readonly where: string;
}

export interface HorseGrowth {
  /** Empty where the horse has no usable trim cycle of its own. */
  readonly feet: readonly Rate[];
  readonly horse: Rate | null;
  readonly group: Rate;
  readonly pairs: Outcome<readonly PairDifference[]>;
  readonly hasSeason: boolean;
}

/**
 * The rates of one horse from the herd's mixed model (REML; see docs/methods/growth.md): its feet and itself drawn towards
 * horses of its breed type on the same ground, each with its prediction interval.
 */
export async function horseGrowth(
  horse: HorseRecord,
  day: number,
  context: AskContext,
): Promise<HorseGrowth | Unavailable> {
  const plain: GrowthOptions = { measure: 'toe', by: horse.breedType ? 'breed_type' : 'none', adjust: [] };
  const { kept } = await recordedInCycles(context, growthConditions(plain), growthWhere(plain), ['terrain']);
  const designs: GrowthOptions[] = [{ ...plain, adjust: [...kept] }, plain, { ...plain, by: 'none' }];
  let why: Unavailable | null = null;
  // A small record cannot tell all apart: then the simpler design answers.
  for (const options of designs) {
    const { rows, where, design, fit } = await fittedGrowth(options, context);
    if (!isUnavailable(fit)) {
      return ratesOf(horse, day, { options, rows, design, fit, where });
    }
    why ??= fit;
  }
  return why!;
}

interface Fitted {
  readonly options: GrowthOptions;
  readonly rows: GrowthRows;
  readonly design: GrowthDesign;
  readonly fit: NestedSlopesFit;
  readonly where: string;
}

function ratesOf(horse: HorseRecord, day: number, fitted: Fitted): HorseGrowth {
  const { options, rows, design, fit, where } = fitted;
  const code = rows.horseIds.indexOf(horse.id);
  const own = rowsWith(rows.horse, code);
  const level = Math.max(0, design.levels.indexOf(horse.breedType ?? 'all'));
  const usual =
    own.length > 0
      ? meanPoint(fitted, own)
      : horse.breedType
        ? designPoint(design, level)
        : herdPoint(design);
  const turn = (2 * Math.PI * day) / YEAR_DAYS;
  const inSeason = (x: Float64Array): Float64Array => {
    const moved = x.slice();
    if (design.season) {
      moved[design.season.cos] = Math.cos(turn);
      moved[design.season.sin] = Math.sin(turn);
    }
    return moved;
  };
  const both = (at: (x: Float64Array) => Estimate, x: Float64Array): Pick<Rate, 'rate' | 'now'> => ({
    rate: at(x),
    now: at(inSeason(x)),
  });
  const ofHorse = allOf(where, isLevel('horse_id', horse.id));
  const feet = [...new Set(horse.rows.map(({ footKey }) => footKey))].flatMap((footKey): Rate[] => {
    const foot = rows.footKeys.indexOf(footKey);
    const unit = foot < 0 ? -1 : fit.unitIds.indexOf(foot);
    if (unit < 0) return [];
    const cycles = own.filter((row) => rows.foot[row] === foot);
    return [
      {
        of: horse.rows.find((row) => row.footKey === footKey)!.foot,
        footKey,
        ...both((x) => unitRate(fit, unit, x), meanPoint(fitted, cycles)),
        counts: countOf(rows.horse, rows.foot, cycles),
        where: allOf(where, isLevel('foot_key', footKey)),
      },
    ];
  });
  const cluster = fit.clusterIds.indexOf(code);
  const pairs = pairDifferences({ ...fitted, analysis: 'growth', spreads: [], lag: NO_LAG }, [code]);
  return {
    feet,
    horse:
      cluster < 0
        ? null
        : {
            of: 'this horse',
            footKey: null,
            ...both((x) => clusterRate(fit, cluster, x), usual),
            counts: countOf(rows.horse, rows.foot, own),
            where: ofHorse,
          },
    group: {
      of: options.by === 'none' ? 'all horses here' : `${horse.breedType} horses`,
      footKey: null,
      ...both((x) => meanRate(fit, x), usual),
      counts: options.by === 'none' ? rows.counts : groupCounts(fitted)[level]!,
      where: options.by === 'none' ? where : allOf(where, isLevel('breed_type', horse.breedType!)),
    },
    pairs,
    hasSeason: design.season !== null,
  };
}

function rowsWith(codes: Int32Array, code: number): number[] {
  const rows: number[] = [];
  for (let row = 0; row < codes.length; row++) if (codes[row] === code) rows.push(row);
  return rows;
}

const groupCounts = ({ design, rows }: Fitted): Counts[] =>
  countByLevel({ levels: design.levels, codes: design.levelOf }, rows.horse, rows.foot);

const NO_LAG = { unavailable: 'no-rows', sentence: 'not asked for' } as const;

/** The rows' mean of groups by days, at the year's mean of the season. */
function meanPoint({ rows, design }: Fitted, cycles: readonly number[]): Float64Array {
  const p = design.names.length;
  const mean = new Float64Array(p);
  const days = cycles.reduce((sum, row) => sum + rows.days[row]!, 0);
  for (const row of cycles) {
    for (let j = 0; j < p; j++) {
      if (j !== design.season?.cos && j !== design.season?.sin)
        mean[j]! += (design.x[row * p + j]! * rows.days[row]!) / days;
    }
  }
  return mean;
}
