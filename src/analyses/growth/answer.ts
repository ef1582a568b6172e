import type { NestedSlopesFit } from '../../stats/nested-slopes.ts';
import type { GrowthRows } from './data.ts';
import type { GrowthDesign } from './design.ts';
import type { GrowthOptions } from './options.ts';

/** Everything the tables and sentences of this analysis are made from. */
export interface GrowthAnswer {
  readonly options: GrowthOptions;
  readonly rows: GrowthRows;
  readonly design: GrowthDesign;
  readonly fit: NestedSlopesFit;
  /** SQL condition of the rows used. */
  readonly where: string;
}
