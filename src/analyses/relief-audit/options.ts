import { z } from 'zod';
import { groupingSchema } from '../groups.ts';

export const optionsSchema = z.strictObject({
  /** Where the separation sits. */
  site: z.enum(['within_wall', 'white_line', 'any']).default('within_wall'),
  /** mm; a separation nearer to the white line than this counts as near. 6.4 mm (1/4 in) is common practice. */
  near_mm: z.number().min(1).max(25).default(6.4),
  /** Held alike beside the distance in the adjusted comparison. */
  adjust: z.array(groupingSchema).max(3).default(['breed_type']),
  /** Days after the first clear visit at which return is reported. */
  horizons: z.array(z.int().min(1).max(3650)).min(1).max(4).default([180, 365]),
  /** Resampled herds behind the bands of return. */
  replicates: z.int().min(50).max(2000).default(100),
  seed: z.int().default(1),
});
export type ReliefOptions = z.output<typeof optionsSchema>;

/** What was done to separated wall: the two choices compared, in the words of tables and sentences. */
export const DONE = { relieved: 'relieved', bevel_only: 'only bevelled' } as const;
export type Done = keyof typeof DONE;
export const CHOICES = ['relieved', 'bevel_only'] as const satisfies readonly Done[];

/** Distance from the white line, in the words of tables and sentences; the limit itself is `near_mm`. */
export const PLACES = ['at the white line', 'near', 'well clear'] as const;
export type Place = (typeof PLACES)[number];
