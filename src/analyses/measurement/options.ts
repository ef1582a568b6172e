import { z } from 'zod';

export const optionsSchema = z.strictObject({
  /** Readings of one foot at most so many days apart, less the growth expected, count as repeats. */
  within_days: z.number().int().min(0).max(14).default(3),
  /** Changes further than so many robust SDs from what the foot's own growth would give are listed. */
  beyond: z.number().min(3).max(12).default(4),
});
export type MeasurementOptions = z.output<typeof optionsSchema>;

interface Measured {
  readonly key: string;
  /** In a sentence: `one reading of the toe length`. */
  readonly words: string;
  readonly label: string;
  readonly unit: 'mm' | '°';
  /** Columns of `foot_visit` with its readings: before and after the trim, or one. */
  readonly columns: readonly [string, string] | readonly [string];
  /** Measure of the growth model, where it changes between trims in proportion to the days. */
  readonly model: 'toe' | 'heel' | 'angle' | null;
}

const toe = ['toe_before_mm', 'toe_after_mm'] as const;
const heel = ['heel_before_mm', 'heel_after_mm'] as const;
const angle = ['angle_before_deg', 'angle_after_deg'] as const;

export const MEASURED: readonly Measured[] = [
  { key: 'toe', words: 'the toe length', label: 'Toe length', unit: 'mm', columns: toe, model: 'toe' },
  { key: 'heel', words: 'the heel length', label: 'Heel length', unit: 'mm', columns: heel, model: 'heel' },
  { key: 'angle', words: 'the toe angle', label: 'Toe angle', unit: '°', columns: angle, model: 'angle' },
  one('sole', 'the sole depth', 'Sole depth', 'mm', 'sole_depth_mm'),
  one('wall', 'the wall thickness', 'Wall thickness', 'mm', 'wall_thickness_mm'),
  one('bar', 'the bar height', 'Bar height', 'mm', 'bar_height_mm'),
  one('new_growth', 'the angle of new growth', 'Angle of new growth', '°', 'new_growth_angle_deg'),
];
export type { Measured };

function one(key: string, words: string, label: string, unit: 'mm' | '°', column: string): Measured {
  return { key, words, label, unit, columns: [column], model: null };
}
