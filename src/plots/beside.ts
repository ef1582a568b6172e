import * as Plot from '@observablehq/plot';
import { columnTitle } from '../core/format-value.ts';
import { textWidth } from '../core/text-width.ts';
import type { Axis } from './chart-axis.ts';
import type { Datum, Layer } from './chart-data.ts';
import type { MarkSetting } from './chart-marks.ts';
import { seriesName } from './chart-series.ts';

/** Counts at the right edge, beside the marks that rest on them: as a table has them, in a column under their name. */
export interface Beside {
  readonly title: string;
  /** px that the column takes. */
  readonly room: number;
}

const SIZE = 11;
const GAP = 10;
/** px: a narrower panel has no room for it. */
const LEAST_PANEL = 180;

const hasCounts = ({ rows }: Layer) => rows.some(({ beside }) => beside !== null);

/** The column and its room; null where marks have no counts, do not stand in lines, or stand too close. */
export function besideOf(
  column: string | undefined,
  layers: readonly Layer[],
  y: Axis,
  panel: number,
): Beside | null {
  const counted = layers.filter(hasCounts);
  if (column === undefined || y.kind !== 'band' || counted.length === 0 || panel < LEAST_PANEL) return null;
  const described = counted[0]!.source.columns.find(({ name }) => name === column);
  const title = columnTitle(described ?? { label: column.replaceAll('_', ' ') });
  const texts = counted.flatMap(({ rows }) => rows.flatMap(({ beside }) => beside ?? []));
  const room = Math.max(...texts.map((text) => textWidth(text, SIZE))) + GAP;
  return { title, room: Math.ceil(room) };
}

/** The counts of each layer, a series at a time, each in the lane of its mark; their name stands over them. */
export function besideMarks(
  { title }: Beside,
  layers: readonly Layer[],
  { series, dodge, place, inks }: MarkSetting,
): Plot.Markish[] {
  const atEdge = { frameAnchor: 'right', textAnchor: 'end', fill: inks.soft, fontSize: SIZE };
  const counted = layers.filter(hasCounts);
  const names = [...new Set([null, ...series.map(({ name }) => name)])];
  const counts = counted.flatMap((layer) =>
    names.map((name) => {
      const rows = layer.rows.filter((datum) => seriesName(layer, datum) === name);
      const at = series.findIndex((each) => each.name === name);
      const shift = at < 0 ? 0 : dodge * (at - (series.length - 1) / 2);
      const facet = layer.hasFacet
        ? { fx: (datum: Datum) => place(datum.facet)?.fx, fy: (datum: Datum) => place(datum.facet)?.fy }
        : {};
      const where = { y: (datum: Datum) => String(datum.at.y), dy: shift, ...facet };
      const options = { ...atEdge, ...where, text: (datum: Datum) => datum.beside };
      return Plot.text(rows as Datum[], options as unknown as Plot.TextOptions);
    }),
  );
  const panels = counted.some(({ hasFacet }) => hasFacet)
    ? [...new Set(counted.flatMap(({ rows }) => rows.map(({ facet }) => facet)))].map((each) => ({
        ...place(each),
      }))
    : [{}];
  const facet = counted.some(({ hasFacet }) => hasFacet) ? { fx: 'fx', fy: 'fy' } : {};
  const over = { ...atEdge, ...facet, frameAnchor: 'top-right', lineAnchor: 'bottom', dy: -5 };
  return [...counts, Plot.text(panels, { ...over, text: () => title } as unknown as Plot.TextOptions)];
}
