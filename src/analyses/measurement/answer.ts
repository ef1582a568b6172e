import type { Unavailable } from '../../core/outcome.ts';
import type { Jumps, MarkUp } from './jumps.ts';
import type { ModelAnswer } from './model.ts';
import type { MeasurementOptions } from './options.ts';
import type { Repeats } from './repeats.ts';
import type { Rounding } from './rounding.ts';
import type { Twice, Watched } from './twice.ts';

/** Everything that the tables and sentences of this analysis are made from. */
export interface MeasurementAnswer {
  readonly options: MeasurementOptions;
  readonly models: readonly {
    readonly model: ModelAnswer;
    readonly jumps: Jumps;
    /** Of toes. */
    readonly watched: Watched | null;
  }[];
  readonly repeats: readonly Repeats[];
  readonly rounding: readonly Rounding[];
  readonly marksUp: readonly MarkUp[];
  readonly twice: Twice | null;
  readonly unavailable: readonly Unavailable[];
}

/** 1.96·√2: two readings of one foot differ by less than so many SDs nineteen times in twenty. */
export const TWO_READINGS = 1.959964 * Math.SQRT2;

/** Fewer pairs than this are told of, and not built upon. */
export const FEWEST_PAIRS = 10;

/** A place behind a label in mid-sentence: `toe length`. */
export const lowered = (label: string): string => label.charAt(0).toLowerCase() + label.slice(1);
