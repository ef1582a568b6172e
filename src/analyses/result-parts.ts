import type { Estimate } from '../core/outcome.ts';
import { type Column, numberColumn, textColumn } from '../core/table.ts';
import type { ResultColumn } from './analysis.ts';
import { type Counts, percent } from './format.ts';

/** A figure with its interval as shown: `what` in `unit`, then from and to. */
export function shownEstimate(what: string, digits: number, unit?: string): ResultColumn[] {
  return [
    { name: 'estimate', label: what, digits, ...(unit ? { unit } : {}) },
    { name: 'conf_low', label: `${percent(0.95)} from`, digits },
    { name: 'conf_high', label: 'to', digits },
  ];
}

/** A share of 0 to 1, or a difference of two: to a tenth of a per cent, as sentences say it. */
export const shareColumn = (name: string, label: string): ResultColumn => ({
  name,
  label,
  digits: 3,
  share: true,
  unit: '%',
});

/** As `shownEstimate`, of a share. */
export function shownShares(what: string): ResultColumn[] {
  const [, ...limits] = shownEstimate(what, 3);
  return [shareColumn('estimate', what), ...limits.map((limit) => ({ ...limit, share: true as const }))];
}

export const SHOWN_COUNTS: readonly ResultColumn[] = [
  { name: 'n_horses', label: 'Horses', digits: 0 },
  { name: 'n_feet', label: 'Feet', digits: 0 },
  { name: 'n_cycles', label: 'Trim cycles', digits: 0 },
];

/** An interval of which an end, or the figure itself, may be missing. */
export interface Bounded {
  readonly estimate: number | null;
  readonly low: number | null;
  readonly high: number | null;
}

export function estimateColumns(estimates: readonly Bounded[]): Record<string, Column> {
  return {
    estimate: numberColumn(estimates.map((e) => e.estimate)),
    conf_low: numberColumn(estimates.map((e) => e.low)),
    conf_high: numberColumn(estimates.map((e) => e.high)),
  };
}

export function errorColumn(estimates: readonly Estimate[]): Record<string, Column> {
  return { std_error: numberColumn(estimates.map((e) => e.stdError)) };
}

export function countColumns(counts: readonly Counts[]): Record<string, Column> {
  return {
    n_horses: numberColumn(counts.map((c) => c.horses)),
    n_feet: numberColumn(counts.map((c) => c.feet)),
    n_cycles: numberColumn(counts.map((c) => c.cycles)),
  };
}

export function behindColumns(
  rows: readonly { readonly where: string; readonly title: string }[],
): Record<string, Column> {
  return {
    behind: textColumn(rows.map((row) => row.where)),
    behind_title: textColumn(rows.map((row) => row.title)),
  };
}
