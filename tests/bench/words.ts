import { REPEATS, spreadOf } from './measure.ts';
import type { Measurement } from './results.ts';

const NO_BREAK = '\u00a0';

/** Three significant digits, plainly: 0.0123, 4.57, 123, 12,300. */
export function figure(value: number): string {
  if (value === 0) return '0';
  const digits = Math.max(0, 2 - Math.floor(Math.log10(Math.abs(value))));
  const rounded = Number(value.toPrecision(3));
  return rounded.toLocaleString('en-GB', { maximumFractionDigits: digits });
}

/** A small difference, to two digits: 3.1e-9. */
export const tiny = (value: number): string => (value === 0 ? '0' : value.toExponential(1));

const UNITS = { ms: 'ms', kB: 'kB', MB: 'MB', '%': '%', count: '' } as const;

/** Median with least and most, in seconds from one second on; how many runs where they were not five. */
export function spreadWords(values: readonly number[], unit: Measurement['unit'] = 'ms'): string {
  const { median, least, most, n } = spreadOf(values);
  const inSeconds = unit === 'ms' && median >= 1000;
  const scale = inSeconds ? 1000 : 1;
  const name = inSeconds ? 's' : UNITS[unit];
  const shown = `${figure(median / scale)}${name === '' ? '' : `${NO_BREAK}${name}`}`;
  if (n === 1) return unit === 'ms' ? `${shown} (one run)` : shown;
  const runs = n === REPEATS ? '' : `, ${n} runs`;
  return `${shown} (${figure(least / scale)}–${figure(most / scale)}${runs})`;
}

export const whole = (value: number): string => value.toLocaleString('en-GB');

export function markdownTable(heads: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]): string => `| ${cells.join(' | ')} |`;
  return [line(heads), `|${heads.map(() => '---').join('|')}|`, ...rows.map(line), ''].join('\n');
}

/** Milliseconds as milliseconds below one second, as seconds from there on. */
export const secondsOf = (ms: number): string =>
  ms < 1000 ? `${figure(ms)}${NO_BREAK}ms` : `${figure(ms / 1000)}${NO_BREAK}s`;

/** Megabytes as gigabytes of a thousand each. */
export const gigabytes = (megabytes: number): string => `${figure(megabytes / 1000)}${NO_BREAK}GB`;

/** The least and the largest of some times in milliseconds, in seconds. */
export function rangeInSeconds(times: readonly number[]): string {
  const [least, most] = [Math.min(...times), Math.max(...times)].map((ms) => figure(ms / 1000));
  return least === most ? `${least}${NO_BREAK}s` : `${least} to ${most}${NO_BREAK}s`;
}
