import type { Outcome } from '../../core/outcome.ts';
import type { Counts } from '../format.ts';
import type { Grouping } from '../groups.ts';
import type { ClientExpectations } from './expected.ts';
import type { Move } from './move.ts';
import type { ClientOptions } from './options.ts';

/** Everything the tables and sentences of this analysis are made from. */
export interface ClientAnswer {
  readonly options: ClientOptions;
  /** Groupings that the rows bear: those of the move, and those that the expected numbers hold. */
  readonly adjust: readonly Grouping[];
  readonly held: readonly Grouping[];
  /** Of all cycles at risk. */
  readonly counts: Counts;
  readonly expected: ClientExpectations;
  /** Null where no client is looked at closely. */
  readonly move: Outcome<Move> | null;
  /** The client looked at closely. */
  readonly client: string | null;
}
