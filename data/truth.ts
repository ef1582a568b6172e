import { dayFromIso } from '../src/core/civil-day.ts';

/**
 * All that decides the invented herd, in one place and written to truth.json as it stands.
 * Every value is made up; those near a published figure name it. Nothing here is evidence about horses.
 */
export const BREED_TYPES = ['draft', 'warmblood', 'light', 'pony', 'donkey'] as const;
export type BreedType = (typeof BREED_TYPES)[number];
export const FEET = ['LF', 'RF', 'LH', 'RH'] as const;
export type Foot = (typeof FEET)[number];
export type Terrain = 'soft' | 'mixed' | 'firm' | 'rocky';
export type Moisture = 'dry' | 'mixed' | 'wet';
export type Protection = 'bare' | 'boot' | 'cast' | 'pad';
export type Relief = 'none' | 'bevel_only' | 'relieved';
export type Grade = 0 | 1 | 2 | 3;

export const TRUTH = {
  /** Chosen among sixty for an unexceptional herd: see the README beside this file. */
  seed: 300_000,
  firstDay: dayFromIso('2022-11-10')! as number,
  lastDay: dayFromIso('2026-11-10')! as number,

  /**
   * Net toe regrowth over a cycle of d days:
   * d/30 · (gross[breed type] − wear[terrain] + horse + foot) + ∫ amplitude/30 · cos(2π(t − peak)/365.25) dt.
   * Net lands near 7.5–9 mm per 30 d: Josseck et al. 1995 (7.5), Kolstrung et al. 2012 (9.3).
   */
  growth: {
    grossMmPer30d: { draft: 9.7, warmblood: 9.3, light: 9.0, pony: 9.1, donkey: 7.6 },
    wearMmPer30d: { soft: 0.3, mixed: 0.8, firm: 1.4, rocky: 2.2 },
    horseSdMmPer30d: 0.8,
    footSdMmPer30d: 0.3,
    seasonAmplitudeMmPer30d: 1.1,
    /** Phase of the fastest growth: day count since 1970-01-01 modulo 365.25; 268 is about 25 September. */
    seasonPeakDay: 268,
    /** One reading of the toe; before and after the trim are separate readings. Then rounded to 0.5 mm. */
    toeErrorSdMm: 0.8,
    markerErrorSdMm: 0.5,
    heelShareOfToe: 0.7,
  },

  angle: {
    driftDegPer30d: { soft: 0.2, mixed: 0.4, firm: 0.5, rocky: 0.6 },
    horseSdDegPer30d: 0.25,
    errorSdDeg: 0.7,
  },

  /**
   * Separation of the wall. Onset since the trim: cumulative hazard H(d) = exp(x'β)·(d/42)^k with the clock set
   * to 0 at each trim, whatever happened before; clearing at a constant rate per year. Covariates are constant
   * within a cycle: terrain and moisture as recorded at its end, relief as recorded at its start.
   */
  separation: {
    exponent: 1.6,
    hazardAt42Days: 0.05,
    onsetRatio: {
      breedType: { draft: 2.0, warmblood: 1.3, light: 1, pony: 0.8, donkey: 0.9 },
      moisture: { dry: 0.7, mixed: 1, wet: 1.8 },
      terrain: { soft: 0.9, mixed: 1, firm: 1.1, rocky: 1.4 },
    },
    clearingPerYear: 2.2,
    clearingRatio: {
      breedType: { draft: 0.8, warmblood: 1, light: 1, pony: 1, donkey: 1 },
      moisture: { dry: 1, mixed: 1, wet: 0.8 },
      relief: { none: 1, bevel_only: 1, relieved: 1.5 },
    },
    heightChangeMmPer30d: { none: 0.5, bevel_only: 0.5, relieved: -3 },
  },

  /**
   * Wall broken away at the ground by the next visit: chance 1 − exp(−H·d/42) over d days, H by what the trim left.
   * Near and clear: distance of a separation from the white line, where one at the white line itself is near.
   */
  wallBreaking: {
    sound: 0.02,
    separated: {
      near: { none: 0.1, bevel_only: 0.08, relieved: 0.06 },
      clear: { none: 0.2, bevel_only: 0.16, relieved: 0.05 },
    },
    /** Common practice: 1/4 in. */
    clearFromMm: 6.4,
    /** A separation that reaches this high multiplies H, unless it was relieved. */
    highFromMm: 8,
    highRatio: 2.5,
    notLookedFor: 0.03,
    /** One stream of chance a foot, apart from all others: the rest of the herd is the same with and without it. */
    seed: 700_100_000,
  },

  /** Two-state Markov, rates per foot-year, constant within a cycle; treated = antifungal at its start. */
  frogInfection: {
    onsetPerYear: { dry: 0.25, mixed: 0.5, wet: 1.2 },
    clearingPerYear: { dry: 3.0, mixed: 2.2, wet: 1.5 },
    clearingRatioTreated: 1.6,
  },
  /** As frog infection; a crack present at the start of the cycle multiplies onset. A coronet injury does not. */
  wallInfection: {
    onsetPerYear: { dry: 0.1, mixed: 0.18, wet: 0.36 },
    onsetRatioCrack: 2.5,
    clearingPerYear: { dry: 1.8, mixed: 1.6, wet: 1.3 },
    clearingRatioTreated: 1.6,
  },
  crack: {
    onsetPerYear: { dry: 0.38, mixed: 0.25, wet: 0.2 },
    clearingPerYear: 1.2,
    /** Injuries of the coronet per foot-year; each may leave a crack from the coronet at the cycle's end. */
    injuryPerYear: 0.04,
    crackAfterInjury: 0.4,
  },

  /** Tenderness at the next visit: logit P = base + slope·(sole − 12 mm) + terrain + protected + horse. */
  tenderness: {
    base: -2.6,
    perMmSole: -0.25,
    terrain: { soft: -0.8, mixed: 0, firm: 0.5, rocky: 1.2 },
    protected: -0.9,
    horseSd: 0.5,
  },

  /** Left bare when the sole is this deep, the ground is not rocky, and the foot was not tender; else protected. */
  protectionRule: { bareFromSoleMm: 12, draftBareFromSoleMm: 14, departures: 0.15 },

  /** Share of cells blanked, each on its own, whatever its value. */
  missing: {
    toe_before_mm: 0.02,
    toe_after_mm: 0.02,
    heel_before_mm: 0.1,
    heel_after_mm: 0.1,
    angle_before_deg: 0.08,
    angle_after_deg: 0.08,
    new_growth_angle_deg: 0.35,
    sole_depth_mm: 0.25,
    wall_thickness_mm: 0.3,
    bar_height_mm: 0.4,
    separation_grade: 0.02,
    separation_to_white_line_mm: 0.1,
    separation_height_mm: 0.1,
    fungal_frog_grade: 0.02,
    fungal_wall_grade: 0.02,
    crack_grade: 0.02,
    coronet_injury: 0.02,
    marker_mm: 0.03,
    terrain: 0.015,
    moisture: 0.03,
    relief: 0.02,
    protection: 0.03,
    antifungal: 0.03,
    sensitivity: 0.03,
  },
} as const;

export const DAYS_PER_YEAR = 365.25;
const OMEGA = (2 * Math.PI) / DAYS_PER_YEAR;

/** Integral of the annual cosine over [from, to], in days. */
export function seasonDays(from: number, to: number, peakDay: number): number {
  return (Math.sin(OMEGA * (to - peakDay)) - Math.sin(OMEGA * (from - peakDay))) / OMEGA;
}

/** The annual cosine at one day. */
export function seasonAt(day: number, peakDay: number): number {
  return Math.cos(OMEGA * (day - peakDay));
}
