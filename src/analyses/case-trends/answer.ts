import type { Estimate } from '../../core/outcome.ts';
import type { Table } from '../../core/table.ts';
import type { Counts } from '../format.ts';
import type { Looks } from './data.ts';
import type { MonthSums, Rate, Standing } from './monthly.ts';
import type { Months } from './months.ts';
import type { TrendOptions } from './options.ts';
import type { Signals } from './signals.ts';

/** Twelve whole months, of one level or of all. */
export interface Year {
  readonly level: string;
  /** `latest`, or the twelve before. */
  readonly which: 'latest' | 'before';
  readonly first: number;
  /** The month after the last. */
  readonly end: number;
  readonly rate: Rate;
  readonly counts: Counts;
}

/** Everything the tables and sentences of this analysis are made from. */
export interface TrendAnswer {
  readonly options: TrendOptions;
  readonly looks: Looks;
  readonly months: Months;
  readonly sums: MonthSums;
  /** The same of all levels together. */
  readonly whole: MonthSums;
  readonly standing: readonly Standing[];
  readonly wholeStanding: readonly Standing[];
  /** How much more the new cases of a month, and of a year of all levels, vary than chance. */
  readonly dispersion: number;
  readonly yearDispersion: number;
  readonly years: readonly Year[];
  /** Rate of the latest year, of all levels, over that of the one before; null where it cannot be told. */
  readonly yearsRatio: Estimate | null;
  readonly signals: Signals;
  readonly cases: Table;
  /** Months from here on are known in part: many feet were not seen since. */
  readonly partFrom: number;
}
