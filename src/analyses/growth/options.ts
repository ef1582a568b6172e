import { z } from 'zod';
import { groupingSchema } from '../groups.ts';

/** What can grow between two trims, with the column that holds it. */
export const MEASURES = {
  toe: { column: 'toe_regrowth_mm', label: 'toe', unit: 'mm per 30 days' },
  heel: { column: 'heel_regrowth_mm', label: 'heel', unit: 'mm per 30 days' },
} as const;

export const optionsSchema = z.strictObject({
  measure: z.enum(['toe', 'heel']).default('toe'),
  by: z.union([z.literal('none'), groupingSchema]).default('breed_type'),
  /** Held at the herd's own mix while the groups are compared. */
  adjust: z.array(groupingSchema).max(4).default([]),
});
export type GrowthOptions = z.output<typeof optionsSchema>;
