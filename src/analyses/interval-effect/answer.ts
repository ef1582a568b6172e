import type { BandShare } from './bands.ts';
import type { IntervalRows } from './data.ts';
import type { ComparisonFit } from './fits.ts';
import type { IntervalOptions } from './options.ts';

/** Everything the tables and sentences of this analysis are made from. */
export interface IntervalAnswer {
  readonly options: IntervalOptions;
  /** Cycles that began clear: those at risk. */
  readonly rows: Pick<IntervalRows, 'atRisk'>;
  readonly fits: readonly ComparisonFit[];
  /** Days at which the risk curve is drawn. */
  readonly times: readonly number[];
  /** SQL condition of the cycles at risk. */
  readonly where: string;
  /** Share with the problem at the next visit, as counted. */
  readonly bands: readonly BandShare[];
}

/** Drawn for 3 to 12 weeks, every half week, and at the weeks asked for. */
export function curveTimes(weeks: readonly number[]): number[] {
  const drawn = Array.from({ length: 19 }, (_, i) => (3 + i / 2) * 7);
  return [...new Set([...drawn, ...weeks.map((week) => week * 7)])].sort((a, b) => a - b);
}
