import { z } from 'zod';
import { PROBLEM_KEYS } from '../../herd/problems.ts';
import { type Grouping, groupingSchema } from '../groups.ts';

/** The client with most horses, in place of a name. */
export const LARGEST = 'largest';

export const optionsSchema = z.strictObject({
  problem: z.enum(PROBLEM_KEYS).default('separation'),
  /** What the expected number allows for. */
  adjust: z.array(groupingSchema).max(6).default(['breed_type', 'terrain', 'moisture', 'season']),
  /** `held`: ground and moisture are allowed for; `own`: they count as part of the client. */
  ground: z.enum(['held', 'own']).default('held'),
  /** `held`: the days between visits are allowed for; `own`: a long interval counts as part of the client. */
  interval: z.enum(['held', 'own']).default('held'),
  /** How the limits allow for clients differing anyway. */
  spread: z.enum(['additive', 'multiplicative', 'none']).default('additive'),
  /** The client to look at closely. */
  client: z.string().default(LARGEST),
  /** The interval it might move to. */
  weeks: z.number().min(1).max(26).default(6),
});
export type ClientOptions = z.output<typeof optionsSchema>;

const OF_THE_GROUND: readonly Grouping[] = ['terrain', 'moisture'];

/** Groupings that the expected number allows for. */
export function heldGroupings({ adjust, ground }: ClientOptions): Grouping[] {
  return adjust.filter(
    (name) => name !== 'client_id' && (ground === 'held' || !OF_THE_GROUND.includes(name)),
  );
}
