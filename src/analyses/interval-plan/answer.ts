import type { CivilDay } from '../../core/civil-day.ts';
import type { Unavailable } from '../../core/outcome.ts';
import type { Counts } from '../format.ts';
import type { LengthWords } from '../lengths.ts';
import type { HorseNow } from './data.ts';
import type { ClientRound, DueHorse } from './due.ts';
import type { PlanOptions } from './options.ts';
import type { WhatIf } from './what-if.ts';

/** The horses, each with its plan. */
export interface PlannedRound {
  readonly options: PlanOptions;
  readonly lengths: LengthWords;
  readonly today: CivilDay;
  /** Horses on the round with a plan, by client and then longest overdue first. */
  readonly due: readonly DueHorse[];
  readonly rounds: readonly ClientRound[];
  /** Horses unseen for over half a year. */
  readonly lapsed: readonly HorseNow[];
  /** Horses on the round of which no limit can be told. */
  readonly unplanned: readonly HorseNow[];
  /** Trim cycles of the horses planned. */
  readonly where: string;
  readonly counts: Counts;
}

/** Everything the tables and sentences of this analysis are made from. */
export interface PlanAnswer extends PlannedRound {
  readonly whatIf: readonly WhatIf[];
  readonly refused: readonly Unavailable[];
}
