import type { DecisionTable } from '../../core/decision-table.ts';
import type { Table } from '../../core/table.ts';
import type { Agreement, LikeFeet, Pooled, Tender } from './compare.ts';
import type { ProtectionOptions } from './options.ts';
import type { RuleSums } from './rules.ts';

/** Everything that the tables and sentences of this analysis are made from. */
export interface ProtectionAnswer {
  readonly options: ProtectionOptions;
  readonly rule: DecisionTable;
  /** SQL of the advice and of the name of the group of like feet. */
  readonly advice: string;
  readonly stratum: string;
  readonly agreements: readonly Agreement[];
  readonly tender: readonly Tender[];
  readonly likeFeet: readonly LikeFeet[];
  readonly pooled: readonly Pooled[];
  readonly rules: readonly RuleSums[];
  /** Each foot at its latest visit; its columns are those of `latestTable`. */
  readonly latest: Table;
}
