import { formatNumber } from '../core/format-value.ts';
import { numbers } from '../core/table.ts';
import type { Layer } from './chart-data.ts';
import type { ChartSpec } from './chart-spec.ts';

/** The least and the most that one drawn value rests on. */
type CountRange = readonly [least: number, most: number];

export interface ChartCounts {
  readonly horses: CountRange | null;
  readonly feet: CountRange | null;
  readonly cycles: CountRange | null;
  readonly visits: CountRange | null;
}

const UNITS = [
  ['horses', 'n_horses', 'horse', 'horses'],
  ['feet', 'n_feet', 'foot', 'feet'],
  ['cycles', 'n_cycles', 'trim cycle', 'trim cycles'],
] as const;
/** Of tables whose values rest on foot visits. */
const VISITS = ['visits', 'n_visits', 'foot visit', 'foot visits'] as const;

function rangeOf(layers: readonly Layer[], column: string): CountRange | null {
  const values = layers.flatMap(({ rows, source }) =>
    source.table.columns[column] ? rows.flatMap(({ row }) => numbers(source.table, column)[row] ?? []) : [],
  );
  const known = values.filter((value) => !Number.isNaN(value));
  if (known.length === 0) return null;
  return [known.reduce((a, b) => Math.min(a, b)), known.reduce((a, b) => Math.max(a, b))];
}

export function chartCounts(layers: readonly Layer[]): ChartCounts {
  return {
    horses: rangeOf(layers, 'n_horses'),
    feet: rangeOf(layers, 'n_feet'),
    cycles: rangeOf(layers, 'n_cycles'),
    visits: rangeOf(layers, 'n_visits'),
  };
}

const listed = (parts: readonly string[]) =>
  parts.length < 2 ? parts.join('') : `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}`;

/** `1 horse and 4 feet`, `12 to 34 horses` */
function countWords([least, most]: CountRange, one: string, many: string): string {
  const word = most === 1 ? one : many;
  return least === most
    ? `${formatNumber(least)} ${word}`
    : `${formatNumber(least)} to ${formatNumber(most)} ${word}`;
}

function countSentence(layers: readonly Layer[], counts: ChartCounts): string {
  // What rests on foot visits is not summed up in trim cycles.
  const ofVisits = counts.visits !== null && counts.cycles === null;
  const told = ofVisits ? undefined : layers.find((layer) => layer.source.counts)?.source.counts;
  // Beside a horse may stand its herd: no value rests on more than the chart as a whole.
  const atLeast = (key: 'horses' | 'feet' | 'cycles'): number =>
    Math.max(told?.[key] ?? 0, counts[key]?.[1] ?? 0);
  const whole = told && { horses: atLeast('horses'), feet: atLeast('feet'), cycles: atLeast('cycles') };
  const values = layers.reduce(
    (most, { rows }) => Math.max(most, rows.filter(({ row }) => row >= 0).length),
    0,
  );
  const each = listed(
    [...UNITS, VISITS].flatMap(([key, , one, many]) => {
      const range = counts[key];
      return range ? [countWords(range, one, many)] : [];
    }),
  );
  const total = whole
    ? listed(UNITS.map(([key, , one, many]) => countWords([whole[key], whole[key]], one, many)))
    : '';
  if (total === '') {
    if (each === '') return `n: ${formatNumber(values)} ${values === 1 ? 'value' : 'values'}.`;
    return values === 1 ? `n: ${each}.` : `n behind each value: ${each}.`;
  }
  const differs = UNITS.some(([key]) => {
    const range = counts[key];
    return range !== null && (range[0] !== whole![key] || range[1] !== whole![key]);
  });
  return differs ? `n: ${total}; behind each value ${each}.` : `n: ${total}.`;
}

const isConfidence = (layer: Layer) =>
  ['x1', 'x2', 'y1', 'y2'].some((name) => String(layer.mark[name as 'x1']).startsWith('conf_'));

/** The page's own caption, what the lines and bands mean, how many it rests on, and what is not drawn. */
export function chartCaption(spec: ChartSpec, layers: readonly Layer[], unfit: number): string {
  const drawn = layers.filter(({ rows }) => rows.length > 0);
  const marks = new Set(drawn.filter(isConfidence).map(({ mark }) => mark.mark));
  // A page that explains its intervals itself is not told twice.
  const explained = /95\s?%/.test(spec.caption ?? '');
  const means = explained
    ? []
    : [
        ...(marks.has('interval') ? ['Bars through the marks are 95 % intervals.'] : []),
        ...(marks.has('band') ? ['Shaded bands are 95 % intervals.'] : []),
      ];
  const missing = layers.reduce((most, layer) => Math.max(most, layer.missing), 0);
  const notes = [
    ...(missing > 0 ? [`Not drawn, since a value is missing: ${formatNumber(missing)}.`] : []),
    ...(unfit > 0
      ? [`Not drawn, since a log scale has no place for zero or less: ${formatNumber(unfit)}.`]
      : []),
  ];
  return [spec.caption?.trim(), ...means, countSentence(drawn, chartCounts(drawn)), ...notes]
    .filter(Boolean)
    .join(' ');
}
