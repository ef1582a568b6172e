import type { Estimate, Outcome } from '../../core/outcome.ts';
import type { NestedSlopesFit } from '../../stats/nested-slopes.ts';
import type { ResidualLag } from '../../stats/residual-lag.ts';
import type { GrowthRows } from './data.ts';
import type { GrowthDesign } from './design.ts';
import type { GrowthOptions } from './options.ts';

/** Everything the tables and sentences of this analysis are made from. */
export interface GrowthAnswer {
  /** Under whose name the estimates stand. */
  readonly analysis: 'growth' | 'drift';
  readonly options: GrowthOptions;
  readonly rows: GrowthRows;
  readonly design: GrowthDesign;
  readonly fit: NestedSlopesFit;
  readonly spreads: readonly Spread[];
  readonly lag: Outcome<ResidualLag>;
  /** SQL condition of the rows used. */
  readonly where: string;
}

/** What the herd's own figures are told from; not its rows and their matrix, which would stand beside those of the groups. */
export interface HerdFigures extends Omit<GrowthAnswer, 'rows' | 'design'> {
  readonly rows: Pick<GrowthRows, 'counts'>;
  readonly design: Omit<GrowthDesign, 'x' | 'levelOf'>;
}

export function herdFigures({ rows, design, ...rest }: GrowthAnswer): HerdFigures {
  const { names, groupings, levels, shares, season, notes } = design;
  const { counts } = rows;
  return { ...rest, rows: { counts }, design: { names, groupings, levels, shares, season, notes } };
}

/** A standard deviation of the model, in the unit of the rates or (for one change) of the amounts. */
export interface Spread {
  readonly of: 'cluster' | 'unit' | 'residual';
  readonly sd: Outcome<Estimate>;
}
