import { z } from 'zod';
import { groupingSchema } from '../groups.ts';

interface Measure {
  /** Column of `trim_cycle` with the change over a cycle. */
  readonly column: string;
  readonly title: string;
  readonly term: string;
  /** Of the rate. */
  readonly unit: string;
  /** Of one change. */
  readonly amountUnit: string;
  /** Heads the column of rates. */
  readonly shown: string;
}

/** What can change between two trims: words and columns. */
export const MEASURES = {
  toe: {
    column: 'toe_regrowth_mm',
    title: 'Net toe growth',
    term: 'toe growth',
    unit: 'mm per 30 days',
    amountUnit: 'mm',
    shown: 'Growth',
  },
  heel: {
    column: 'heel_regrowth_mm',
    title: 'Net heel growth',
    term: 'heel growth',
    unit: 'mm per 30 days',
    amountUnit: 'mm',
    shown: 'Growth',
  },
  angle: {
    column: 'angle_drift_deg',
    title: 'Drift of the toe angle',
    term: 'toe angle drift',
    unit: '° per 30 days',
    amountUnit: '°',
    shown: 'Drift',
  },
} as const satisfies Record<string, Measure>;
type MeasureName = keyof typeof MEASURES;

const split = {
  by: z.union([z.literal('none'), groupingSchema]).default('breed_type'),
  /** Held at the herd's own mix while the groups are compared. */
  adjust: z.array(groupingSchema).max(4).default([]),
};

export const optionsSchema = z.strictObject({ measure: z.enum(['toe', 'heel']).default('toe'), ...split });
export const driftOptionsSchema = z.strictObject({
  measure: z.enum(['angle', 'toe', 'heel']).default('angle'),
  ...split,
  by: split.by.default('protection'),
});

export interface GrowthOptions extends Omit<z.output<typeof optionsSchema>, 'measure'> {
  readonly measure: MeasureName;
}
export type DriftOptions = z.output<typeof driftOptionsSchema>;
