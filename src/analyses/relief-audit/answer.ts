import type { Unavailable } from '../../core/outcome.ts';
import type { Counts } from '../format.ts';
import type { DoneShare } from './done.ts';
import type { HeightChange } from './height.ts';
import { DONE, type Done, type ReliefOptions } from './options.ts';
import type { ReturnCurve, ReturnRatio } from './returns.ts';
import type { EndingAnswer } from './shares.ts';

/** Everything the tables and sentences of this analysis are made from. */
export interface ReliefAnswer {
  readonly options: ReliefOptions;
  readonly counts: Counts;
  readonly done: readonly DoneShare[];
  readonly heights: readonly HeightChange[];
  readonly heightsRefused: readonly Unavailable[];
  readonly broken: EndingAnswer;
  readonly cleared: EndingAnswer;
  readonly curves: readonly ReturnCurve[];
  readonly ratios: readonly ReturnRatio[];
}

const SITES = {
  within_wall: 'separation within the wall',
  white_line: 'separation at the white line',
  any: 'separation',
} as const;

export const siteWords = ({ site }: ReliefOptions): string => SITES[site];

export const cyclesTitle = (options: ReliefOptions, done: Done | null, scope: string): string =>
  `trim cycles that began with ${siteWords(options)}${done ? `, ${DONE[done]}` : ''}, ${scope}`;

export const BOTH = 'relieved less only bevelled';
