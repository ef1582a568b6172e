import { z } from 'zod';

/** What can grow out, in the words of a list. */
export const GROWING_OUT = {
  separation: 'separation',
  coronet_crack: 'crack from the coronet',
  coronet_injury: 'injury of the coronet',
} as const;
export type GrowingOut = keyof typeof GROWING_OUT;
export const GROWING_OUT_KEYS = Object.keys(GROWING_OUT) as [GrowingOut, ...GrowingOut[]];

export const optionsSchema = z.strictObject({
  problem: z.union([z.literal('all'), z.enum(GROWING_OUT_KEYS)]).default('all'),
  /** Feet not seen for so many days are left out. */
  seen_within_days: z.int().min(30).max(1500).default(180),
  /** Only what stands now, or only how past projections held and how long a whole toe takes. */
  look: z.enum(['both', 'ahead', 'back']).default('both'),
  /** By which later visit past projections are looked at: the first after, the second, the third. */
  later_visit: z.int().min(1).max(3).default(1),
});
export type GrowOutOptions = z.output<typeof optionsSchema>;

export function asked({ problem }: Pick<GrowOutOptions, 'problem'>): readonly GrowingOut[] {
  return problem === 'all' ? GROWING_OUT_KEYS : [problem];
}
