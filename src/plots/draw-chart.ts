import * as Plot from '@observablehq/plot';
import { formatNumber } from '../core/format-value.ts';
import { textWidth } from '../core/text-width.ts';
import { besideMarks } from './beside.ts';
import { type Axis, chartAxis } from './chart-axis.ts';
import { type ChartCounts, chartCaption, chartCounts } from './chart-caption.ts';
import { type ChartTable, chartLayers, type Layer } from './chart-data.ts';
import { fillKeyMarks, keyMarks } from './chart-key.ts';
import { type ChartLayout, chartLayout, PANEL_GAP, TEXT_LINE } from './chart-layout.ts';
import { layerMarks, type MarkSetting } from './chart-marks.ts';
import { axesMarks, scaleOf } from './chart-scales.ts';
import { chartSeries } from './chart-series.ts';
import type { ChartSpec } from './chart-spec.ts';
import { endLabels } from './end-labels.ts';
import { hatchDefinitions, nextHatchPrefix } from './hatches.ts';
import { keepApart } from './keep-apart.ts';
import { keepInside } from './keep-inside.ts';
import { type ChartTheme, type Inks, inksOf } from './palette.ts';

/** More marks than this make a slow and unreadable drawing. */
export const MOST_MARKS = 5000;

interface DrawOptions {
  /** px; the drawing never is narrower than 240. */
  readonly width: number;
  readonly theme: ChartTheme;
}

/** A drawing, or the sentence that stands in its place. Elements with `data-row` and `data-table` stand for rows. */
export type Chart =
  | {
      readonly svg: SVGSVGElement;
      readonly caption: string;
      readonly n: ChartCounts;
      /** The way along which marks follow one another; null in small multiples. */
      readonly along: 'x' | 'y' | null;
    }
  | { readonly sentence: string };

interface Axes {
  readonly x: Axis;
  readonly y: Axis;
}

function altText(spec: ChartSpec, { x, y }: Axes, layers: readonly Layer[]): string {
  if (spec.alt) return spec.alt;
  const values = layers.reduce((most, { rows }) => Math.max(most, rows.length), 0);
  const axes = y.title && x.title ? `${y.title} against ${x.title}` : y.title || x.title || 'chart';
  return `${spec.title ? `${spec.title}: ` : ''}${axes}, ${formatNumber(values)} values; the same numbers as a table follow`;
}

/** Where a facet stands in the grid. */
const placeIn = (layout: ChartLayout) => (facet: string | null) => {
  const at = facet === null ? -1 : (layout.grid?.names.indexOf(facet) ?? -1);
  const columns = layout.grid?.columns ?? 1;
  return at < 0 ? null : { fx: at % columns, fy: Math.floor(at / columns) };
};

/** px: a mark at the end of an axis is drawn whole. */
const INSET = 7;

/** Room at the ends of the axes for dots and intervals; none along a line or a band, beside bars, or at an end that is 0. */
function insetOf({ x, y }: Axes, has: (kind: string) => boolean): { x: object; y: object } {
  const marks = (has('dot') || has('interval')) && !has('bar') && !has('cell');
  const along = has('line') || has('step') || has('band');
  const room = ({ kind, domain }: Axis, low: string, high: string): object =>
    !marks || kind === 'band' ? {} : { [high]: INSET, ...(domain[0] === 0 ? {} : { [low]: INSET }) };
  return { x: along ? {} : room(x, 'insetLeft', 'insetRight'), y: room(y, 'insetBottom', 'insetTop') };
}

const px = (value: number) => ({ value: [value], scale: null });

/** Key and axis titles, at places in px, which no mark of a faceted plot can have. */
function overlay(layout: ChartLayout, inks: Inks, hatch: MarkSetting['hatch']): Element[] {
  const { width, height, margin, key, keyHeight, fill, fillTop, titleX, titleY } = layout;
  const title = (text: string, left: number, top: number, textAnchor: 'start' | 'middle') => {
    const options = { x: px(left), y: px(top), textAnchor, fill: inks.ink, fontWeight: 500 };
    return Plot.text([text], options as unknown as Plot.TextOptions);
  };
  const widest = Math.max(0, ...titleX.map((line) => textWidth(line)));
  const middle = margin.left + (width - margin.left - margin.right) / 2;
  const across = Math.max(4 + widest / 2, Math.min(middle, width - 4 - widest / 2));
  const drawing = Plot.plot({
    width,
    height,
    margin: 0,
    axis: null,
    className: 'chart-drawing',
    marks: [
      ...keyMarks(key, inks, hatch),
      ...(fill ? fillKeyMarks(fill, fillTop, inks) : []),
      ...titleY.map((line, at) => title(line, 4, keyHeight + 10 + at * TEXT_LINE, 'start')),
      ...titleX.map((line, at) =>
        title(line, across, height - 9 - (titleX.length - 1 - at) * TEXT_LINE, 'middle'),
      ),
    ],
  });
  return [...drawing.children].filter((child) => child.tagName !== 'style');
}

function drawn(spec: ChartSpec, layers: readonly Layer[], axes: Axes, options: DrawOptions) {
  const { x, y } = axes;
  const inks = inksOf(options.theme);
  const series = chartSeries(layers, inks);
  const layout = chartLayout(spec, layers, axes, series, Math.max(240, Math.round(options.width)));
  const { width, height, margin, grid, ends, fill, dodge, beside } = layout;
  const has = (kind: string) => layers.some(({ mark }) => mark.mark === kind);
  const use = { bars: has('bar') || has('cell'), cells: has('cell') };
  const inset = insetOf(axes, has);
  const prefix = nextHatchPrefix();
  const hatch = (at: number) => (use.bars && series.length > 1 ? `url(#${prefix}${at})` : null);
  const place = placeIn(layout);
  const curve = has('step') ? 'step-after' : 'linear';
  const setting: MarkSetting = { x, y, inks, series, dodge, place, hatch, curve };
  const panels = (grid?.names ?? []).map((name) => ({
    name: grid?.lines.get(name)?.join('\n') ?? name,
    ...place(name),
  }));
  const panelName = {
    fx: 'fx',
    fy: 'fy',
    text: 'name',
    frameAnchor: 'top-left',
    lineAnchor: 'bottom',
    dx: grid?.columns === 1 && y.kind === 'band' ? 4 - margin.left : 0,
    dy: -5,
  };
  // Of a row of panels, what lies between it and the next: room for the names of these.
  const between = grid ? ((PANEL_GAP + grid.more) * grid.rows) / (height - margin.top - margin.bottom) : 0;
  const svg = Plot.plot({
    width,
    height,
    marginTop: margin.top,
    marginBottom: margin.bottom,
    marginLeft: margin.left,
    marginRight: margin.right,
    className: 'chart-drawing',
    style: { background: 'transparent', color: inks.ink, fontSize: '12px', fontFamily: 'inherit' },
    x: {
      ...scaleOf(x, use),
      ...inset.x,
      ...(beside ? { insetRight: INSET + beside.room } : {}),
    },
    y: { ...scaleOf(y, use), ...inset.y, ...(layout.nameRise > 0 ? { axis: null } : {}) },
    color: {
      type: 'linear',
      range: [inks.line, inks.main],
      ...(fill ? { domain: [fill.low, fill.high] } : {}),
    },
    ...(grid
      ? {
          // A lone row or column has no neighbour to keep away from.
          fx: { axis: null, padding: 0, paddingInner: grid.columns > 1 ? 0.12 : 0 },
          fy: { axis: null, padding: 0, paddingInner: grid.rows > 1 ? between : 0 },
        }
      : {}),
    marks: [
      () => (hatch(0) ? hatchDefinitions(prefix, series, inks) : null),
      ...axesMarks(x, y, layout, inks),
      ...layers.flatMap((layer) => layerMarks(layer, setting)),
      ...(beside ? besideMarks(beside, layers, setting) : []),
      ...(grid
        ? [Plot.text(panels, { ...panelName, fontWeight: 600, fill: inks.ink } as Plot.TextOptions)]
        : []),
      ...(ends ? [endLabels(ends, inks)] : []),
    ],
  }) as SVGSVGElement;
  keepInside(svg, width);
  if (x.kind !== 'band' && y.kind !== 'band') keepApart(svg);
  svg.append(...overlay(layout, inks, hatch));
  // A picture has one name, its own: its parts have none, but keep their kind for tests and styles.
  for (const part of svg.querySelectorAll('[aria-label]')) {
    part.setAttribute('data-mark', part.getAttribute('aria-label') ?? '');
    part.removeAttribute('aria-label');
  }
  svg.setAttribute('role', 'img');
  svg.setAttribute('aria-label', altText(spec, axes, layers));
  return { svg, along: grid ? null : y.kind === 'band' ? ('y' as const) : ('x' as const) };
}

/**
 * Draws finished numbers; fits nothing. `tables` holds every table that the chart names. Without rows, or with more
 * marks than can be read, a sentence stands in place of the drawing. Throws when the chart names a column that is not there.
 */
export function drawChart(
  spec: ChartSpec,
  tables: Readonly<Record<string, ChartTable>>,
  options: DrawOptions,
): Chart {
  const layers = chartLayers(spec, tables);
  const own = layers.filter(({ rows }) => rows.some(({ row }) => row >= 0));
  const marks = own.reduce((sum, { rows }) => sum + rows.length, 0);
  if (own.length === 0) {
    const missing = layers.reduce((most, layer) => Math.max(most, layer.missing), 0);
    const rows = missing === 1 ? 'in the one row' : `in each of the ${formatNumber(missing)} rows`;
    return {
      sentence:
        missing > 0
          ? `There is nothing to draw: ${rows} a value that the chart needs is missing.`
          : 'There is nothing to draw: no row answers to this choice of horses and settings.',
    };
  }
  if (marks > MOST_MARKS) {
    return {
      sentence: `This chart would draw ${formatNumber(marks)} marks, and more than ${formatNumber(MOST_MARKS)} cannot be read. Choose fewer horses, or let a query sum the rows up first.`,
    };
  }
  const axes = { x: chartAxis('x', spec, layers, tables), y: chartAxis('y', spec, layers, tables) };
  return {
    ...drawn(spec, layers, axes, options),
    caption: chartCaption(spec, layers, axes.x.unfit + axes.y.unfit),
    n: chartCounts(own),
  };
}
