import { medianOf, ratioOf, withPrefix } from './look-up.ts';
import type { PartResult } from './results.ts';
import { figure, gigabytes, rangeInSeconds, secondsOf, whole } from './words.ts';

const FIELD = /\{\{(\w+) ([^@{}]+) @(\d+)\}\}/g;

/**
 * A text with its figures put in from what was measured: `{{ratio sql growth @1000000}}` is that measurement's ratio to what
 * it stands beside, at so many rows; `median` its median with the unit; `range` the least and the largest median of all
 * whose keys begin so, in seconds; `number` how many they are. Throws on what was not measured, and on other braces.
 */
export function filled(text: string, results: readonly PartResult[]): string {
  const full = text.replaceAll(FIELD, (field, kind: string, key: string, rows: string) => {
    const value = figureOf(results, kind, key, Number(rows));
    if (value === null) throw new Error(`a figure must have been measured: ${field}`);
    return value;
  });
  const left = /\{\{[^}]*\}?\}?/.exec(full)?.[0];
  if (left !== undefined) throw new Error(`a figure must be written {{kind key @rows}}: ${left}`);
  return full;
}

function figureOf(results: readonly PartResult[], kind: string, key: string, rows: number): string | null {
  if (kind === 'ratio') {
    const ratio = ratioOf(results, key, rows);
    return ratio === null ? null : figure(ratio);
  }
  if (kind === 'median') return inUnit(results, key, rows);
  const medians = withPrefix(results, key, rows);
  if (kind === 'range') return medians.length === 0 ? null : rangeInSeconds(medians);
  if (kind === 'number') return whole(medians.length);
  throw new Error(`a figure must be a ratio, median, range or number: ${kind}`);
}

function inUnit(results: readonly PartResult[], key: string, rows: number): string | null {
  const median = medianOf(results, key, rows);
  const unit = results
    .flatMap(({ measurements }) => measurements)
    .find((measurement) => measurement.key === key)?.unit;
  if (median === null || unit === undefined) return null;
  if (unit === 'ms') return secondsOf(median);
  if (unit === 'MB') return gigabytes(median);
  return unit === 'count' ? whole(median) : `${figure(median)} ${unit}`;
}
