import { z } from 'zod';
import { type ProblemKey, problemLabel } from '../../herd/problems.ts';
import { groupingSchema } from '../groups.ts';

export const optionsSchema = z.strictObject({
  /** What is asked to follow. */
  problem: z.enum(['wall_infection', 'frog_infection']).default('wall_infection'),
  /** Held at the herd's own mix in the adjusted comparison. */
  adjust: z.array(groupingSchema).max(6).default(['breed_type', 'terrain', 'moisture', 'season']),
  /** Weeks after the trim at which the risk is reported. */
  weeks: z.number().min(1).max(26).default(6),
});
export type EntryOptions = z.output<typeof optionsSchema>;

/** A way in, as it stood at the trim: SQL over `trim_cycle` that is true, false, or missing where it cannot be said. */
export interface Exposure {
  readonly name: string;
  readonly sql: string;
  /** `with a crack`, `without a crack`: a crack of one origin is set against no crack at all. */
  readonly with: string;
  readonly without: string;
}

export const EXPOSURES = [
  { name: 'crack', sql: 'crack_start', with: 'with a crack', without: 'without a crack' },
  {
    name: 'crack from the ground',
    sql: "CASE WHEN NOT crack_start THEN FALSE WHEN crack_start AND crack_origin = 'ground' THEN TRUE END",
    with: 'with a crack from the ground',
    without: 'without a crack',
  },
  {
    name: 'crack from the coronet',
    sql: "CASE WHEN NOT crack_start THEN FALSE WHEN crack_start AND crack_origin = 'coronet' THEN TRUE END",
    with: 'with a crack from the coronet',
    without: 'without a crack',
  },
  { name: 'coronet injury', sql: 'coronet_injury', with: 'with a coronet injury', without: 'without one' },
  { name: 'separation', sql: 'separation_start', with: 'with separation', without: 'without separation' },
] as const satisfies readonly Exposure[];

/** One question: among feet clear of `outcome` at the trim, does `exposure` then go with more of it at the next visit? */
export interface Question {
  readonly exposure: Exposure;
  readonly outcome: ProblemKey;
  /** `forward`: the way in first. `reverse`: the infection first, as a check on the order of time. */
  readonly order: 'forward' | 'reverse';
  readonly label: string;
}

/** Each way in before the infection; then the infection before a crack, and before separation. */
export function questions({ problem }: EntryOptions): Question[] {
  const infection = problemLabel(problem);
  const reversed = {
    name: infection,
    sql: `${problem}_start`,
    with: `with ${infection}`,
    without: `without ${infection}`,
  };
  return [
    ...EXPOSURES.map(
      (exposure): Question => ({
        exposure,
        outcome: problem,
        order: 'forward',
        label: `${exposure.name}, then ${infection}`,
      }),
    ),
    ...(['crack', 'separation'] as const).map(
      (outcome): Question => ({
        exposure: reversed,
        outcome,
        order: 'reverse',
        label: `${infection}, then ${problemLabel(outcome)}`,
      }),
    ),
  ];
}
