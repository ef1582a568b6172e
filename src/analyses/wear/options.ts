import { z } from 'zod';
import { groupingSchema } from '../groups.ts';

export const optionsSchema = z.strictObject({
  by: z.union([z.literal('none'), groupingSchema]).default('terrain'),
});
export type WearOptions = z.output<typeof optionsSchema>;
