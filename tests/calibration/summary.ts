import { normalMultiplier } from '../../src/stats/distributions.ts';
import { wilsonOfShare } from '../../src/stats/wilson.ts';
import type { Interval, Measured } from './measured.ts';
import type { Followed } from './simulated-herd.ts';

/** One quantity over all herds. Numbers are null where they have no meaning. */
export interface Summary {
  readonly quantity: string;
  /** Mean over herds where it differs by herd. */
  readonly truth: number;
  readonly estimate: number;
  readonly bias: number;
  /** Monte-Carlo standard error of the bias. */
  readonly biasError: number;
  readonly meanStdError: number | null;
  /** Of estimate less truth, over herds. */
  readonly spread: number;
  readonly coverage: number;
  /** Wilson 95 %: how far chance alone may have moved the coverage over so many herds. */
  readonly coverageLow: number;
  readonly coverageHigh: number;
  readonly n: number;
  readonly withoutAnswer: number;
}

const mean = (values: readonly number[]): number => values.reduce((sum, v) => sum + v, 0) / values.length;

export function summarise(measured: readonly Measured[], truthOf: ReadonlyMap<string, number>): Summary[] {
  const by = new Map<string, { truth: number; found: Interval | null }[]>();
  for (const { quantity, truth, found } of measured) {
    const known = truth ?? truthOf.get(quantity);
    if (known === undefined) throw new Error(`${quantity} must have a truth`);
    by.set(quantity, [...(by.get(quantity) ?? []), { truth: known, found }]);
  }
  return Array.from(by, ([quantity, all]) => {
    const answered = all.flatMap(({ truth, found }) => (found ? [{ truth, ...found }] : []));
    const errors = answered.map(({ estimate, truth }) => estimate - truth);
    const bias = mean(errors);
    const spread = Math.sqrt(errors.reduce((sum, e) => sum + (e - bias) ** 2, 0) / (errors.length - 1));
    const stdErrors = answered.map(({ stdError }) => stdError).filter(Number.isFinite);
    const coverage = mean(answered.map(({ low, high, truth }) => Number(low <= truth && truth <= high)));
    const { low, high } = wilsonOfShare(coverage, answered.length, normalMultiplier(0.95));
    return {
      quantity,
      truth: mean(answered.map(({ truth }) => truth)),
      estimate: mean(answered.map(({ estimate }) => estimate)),
      bias,
      biasError: spread / Math.sqrt(errors.length),
      meanStdError: stdErrors.length === answered.length ? mean(stdErrors) : null,
      spread,
      coverage,
      coverageLow: low,
      coverageHigh: high,
      n: answered.length,
      withoutAnswer: all.length - answered.length,
    };
  });
}

/** Share returned by `days` on true dates (Kaplan & Meier 1958), over all herds' spells together. */
export function shareReturned(followed: readonly Followed[], days: number): number {
  const sorted = [...followed].sort(([a], [b]) => a - b);
  let free = 1;
  for (const [i, [time, returned]] of sorted.entries()) {
    if (time > days) break;
    if (returned) free *= 1 - 1 / (sorted.length - i);
  }
  return 1 - free;
}

const number = (value: number | null): string =>
  value === null ? '–' : (Math.abs(value) >= 100 ? value.toFixed(1) : value.toFixed(3)).replace('-', '−');

export function markdownTable(rows: readonly Summary[]): string {
  const head = [
    'quantity',
    'truth',
    'mean estimate',
    'bias ± MC error',
    'mean SE',
    'SD of estimates',
    'coverage (MC 95 %)',
    'n',
  ];
  const body = rows.map((r) => [
    r.quantity,
    number(r.truth),
    number(r.estimate),
    `${number(r.bias)} ± ${number(r.biasError)}`,
    number(r.meanStdError),
    number(r.spread),
    `${(r.coverage * 100).toFixed(1)} % (${(r.coverageLow * 100).toFixed(1)}–${(r.coverageHigh * 100).toFixed(1)})`,
    r.withoutAnswer === 0 ? String(r.n) : `${r.n} (${r.withoutAnswer} without an answer)`,
  ]);
  return [head, head.map(() => '---'), ...body].map((cells) => `| ${cells.join(' | ')} |`).join('\n');
}
