import * as Plot from '@observablehq/plot';
import { columnTitle, formatNumber } from '../core/format-value.ts';
import { fitText, textWidth } from '../core/text-width.ts';
import { type Axis, chartAxis } from './chart-axis.ts';
import { type ChartCounts, chartCaption, chartCounts } from './chart-caption.ts';
import { type ChartTable, chartLayers, distinct, type Layer } from './chart-data.ts';
import { fillKeyMarks, KEY_LINE, keyMarks, layOutKey } from './chart-key.ts';
import { layerMarks, type MarkSetting } from './chart-marks.ts';
import { chartSeries, needsDodge, type Series } from './chart-series.ts';
import type { ChartSpec } from './chart-spec.ts';
import { endLabels, lineEnds } from './end-labels.ts';
import { hatchDefinitions, nextHatchPrefix } from './hatches.ts';
import { type ChartTheme, type Inks, inksOf } from './palette.ts';

/** More marks than this make a slow and unreadable drawing. */
export const MOST_MARKS = 5000;

export interface DrawOptions {
  /** px; the drawing never is narrower than 240. */
  readonly width: number;
  readonly theme: ChartTheme;
}

/** A drawing, or the sentence that stands in its place. Elements with `data-row` and `data-table` stand for rows. */
export type Chart =
  | { readonly svg: SVGSVGElement; readonly caption: string; readonly n: ChartCounts }
  | { readonly sentence: string };

interface Grid {
  readonly names: readonly string[];
  readonly columns: number;
  readonly rows: number;
}

const px = (value: number) => ({ value: [value], scale: null });

function facetGrid(spec: ChartSpec, layers: readonly Layer[], width: number): Grid | null {
  if (!spec.facet) return null;
  const names = distinct(layers.flatMap(({ rows }) => rows.map((datum) => datum.facet)));
  if (names.length === 0) return null;
  const fitting = Math.max(1, Math.floor(width / 230));
  const columns = Math.min(names.length, spec.facet.columns ?? fitting, fitting);
  return { names, columns, rows: Math.ceil(names.length / columns) };
}

function categoryWidth(axis: Axis, most: number): number {
  return Math.min(
    axis.domain.reduce<number>((widest, each) => Math.max(widest, textWidth(String(each))), 0) + 14,
    most,
  );
}

const axisKind = (axis: Axis, bars: boolean): 'linear' | 'log' | 'band' | 'point' | 'utc' =>
  axis.kind === 'date' ? 'utc' : axis.kind === 'band' ? (bars ? 'band' : 'point') : axis.kind;

function scaleOf(axis: Axis, bars: boolean, cells: boolean): Record<string, unknown> {
  const type = axisKind(axis, bars);
  const ends =
    axis.kind === 'band' ? { padding: cells ? 0.04 : bars ? 0.2 : 0.6 } : { nice: axis.kind === 'linear' };
  return { type, domain: axis.kind === 'band' ? axis.domain.map(String) : axis.domain, label: null, ...ends };
}

function tickFormat(axis: Axis, room: number): { tickFormat?: (value: unknown) => string } {
  if (axis.kind === 'band') return { tickFormat: (value) => fitText(String(value), room) };
  if (axis.kind === 'date') return {};
  if (axis.percent)
    return { tickFormat: (value) => `${formatNumber(Number((Number(value) * 100).toPrecision(12)))} %` };
  return { tickFormat: (value) => formatNumber(Number(value)) };
}

function defaultHeight(y: Axis, grid: Grid | null, width: number, lanes: number): number {
  const panel = y.kind === 'band' ? y.domain.length * Math.max(22, lanes * 9 + 8) + 12 : null;
  if (grid) return grid.rows * ((panel ?? 150) + 40);
  return panel ?? Math.min(400, Math.max(240, width * 0.5));
}

/** The two ends of what cells show by lightness, and what that is; null where no layer does. */
function fillEnds(layers: readonly Layer[]) {
  const layer = layers.find(({ mark, rows }) => mark.fill && rows.some(({ fill }) => fill !== null));
  if (!layer) return null;
  const values = layers.flatMap(({ rows }) => rows.flatMap(({ fill }) => fill ?? []));
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const name = layer.mark.fill!;
  const column = layer.source.columns.find((each) => each.name === name) ?? { name, label: name };
  const shown = (value: number) => formatNumber(value, column.digits);
  return { low, high, least: shown(low), most: shown(high), title: columnTitle(column) };
}

function axesMarks(
  x: Axis,
  y: Axis,
  inks: Inks,
  rooms: { x: number; y: number; turned: boolean },
): Plot.Markish[] {
  const look = { color: inks.soft, label: null, tickSize: 4, tickPadding: 4 };
  const turn = rooms.turned ? { tickRotate: -40 } : {};
  return [
    ...(x.kind === 'band' ? [] : [Plot.gridX({ stroke: inks.line, strokeOpacity: 1 })]),
    ...(y.kind === 'band'
      ? [Plot.gridY({ stroke: inks.line, strokeOpacity: 0.7, strokeDasharray: '1 3' })]
      : [Plot.gridY({ stroke: inks.line, strokeOpacity: 1 })]),
    Plot.axisX({ ...look, ...tickFormat(x, rooms.x), ...turn, ticks: 6 } as Plot.AxisXOptions),
    Plot.axisY({ ...look, ...tickFormat(y, rooms.y), ticks: 6 } as Plot.AxisYOptions),
  ];
}

function altText(spec: ChartSpec, x: Axis, y: Axis, layers: readonly Layer[]): string {
  if (spec.alt) return spec.alt;
  const values = layers.reduce((most, { rows }) => Math.max(most, rows.length), 0);
  const axes = y.title && x.title ? `${y.title} against ${x.title}` : y.title || x.title || 'chart';
  return `${spec.title ? `${spec.title}: ` : ''}${axes}, ${formatNumber(values)} values; the same numbers as a table follow`;
}

function drawn(
  spec: ChartSpec,
  layers: readonly Layer[],
  tables: Readonly<Record<string, ChartTable>>,
  options: DrawOptions,
): SVGSVGElement {
  const width = Math.max(240, Math.round(options.width));
  const inks = inksOf(options.theme);
  const [x, y] = [chartAxis('x', spec, layers, tables), chartAxis('y', spec, layers, tables)];
  const series: Series[] = chartSeries(layers, inks);
  const grid = facetGrid(spec, layers, width);
  const bars = layers.some(({ mark }) => mark.mark === 'bar' || mark.mark === 'cell');
  const cells = layers.some(({ mark }) => mark.mark === 'cell');
  const banded = y.kind === 'band' ? 'y' : x.kind === 'band' ? 'x' : null;
  const lanes = banded && needsDodge(layers, banded) ? series.length : 1;

  const ends = grid || banded || series.length > 7 ? null : lineEnds(layers, series);
  const isDirect = ends !== null && ends.length > 1;
  const key = layOutKey(isDirect ? [] : series, 4, width - 8);
  const ramp = fillEnds(layers);
  const keyHeight = key.height + (ramp ? KEY_LINE + 4 : 0);
  const prefix = nextHatchPrefix();
  const hatch = (at: number) => (bars && series.length > 1 ? `url(#${prefix}${at})` : null);

  const yRoom = y.kind === 'band' ? categoryWidth(y, width * 0.36) : 46;
  const names = isDirect ? Math.max(...ends.map((end) => textWidth(end.series.name))) + 36 : 0;
  const texts = layers.some(({ mark }) => mark.mark === 'text') && y.kind === 'band' ? 40 : 0;
  const marginRight = Math.min(width * 0.35, Math.max(16, names, texts));
  const panelWidth = (width - yRoom - marginRight) / (grid?.columns ?? 1);
  const xRoom = x.kind === 'band' ? panelWidth / Math.max(1, x.domain.length) : 0;
  const turned = x.kind === 'band' && categoryWidth(x, Infinity) - 6 > xRoom;
  const xDepth = turned ? categoryWidth(x, 110) * 0.72 + 10 : 24;
  const marginTop = keyHeight + (y.title ? 22 : 8) + (grid ? 18 : 0);
  const marginBottom = xDepth + (x.title ? 20 : 0);
  const height = spec.height ?? Math.round(defaultHeight(y, grid, width, lanes) + marginTop + marginBottom);

  const setting: MarkSetting = {
    x,
    y,
    inks,
    series,
    dodge: lanes > 1 ? Math.min(9, 18 / (lanes - 1)) : 0,
    place: (facet) => {
      const at = facet === null || !grid ? -1 : grid.names.indexOf(facet);
      return at < 0 || !grid ? null : { fx: at % grid.columns, fy: Math.floor(at / grid.columns) };
    },
    hatch,
    curve: layers.some(({ mark }) => mark.mark === 'step') ? 'step-after' : 'linear',
  };
  const panels = (grid?.names ?? []).map((name) => ({ name, ...setting.place(name) }));
  const written = { fill: inks.ink, fontWeight: 500 };
  const title = (text: string, at: { x: number; y: number; textAnchor: 'start' | 'middle' }) =>
    text === ''
      ? []
      : [
          Plot.text([text], {
            ...written,
            x: px(at.x),
            y: px(at.y),
            textAnchor: at.textAnchor,
          } as unknown as Plot.TextOptions),
        ];

  const svg = Plot.plot({
    width,
    height,
    marginTop,
    marginBottom,
    marginLeft: yRoom,
    marginRight,
    className: 'chart-drawing',
    style: { background: 'transparent', color: inks.ink, fontSize: '12px', fontFamily: 'inherit' },
    x: scaleOf(x, bars, cells) as Plot.ScaleOptions,
    y: { ...scaleOf(y, bars, cells), ...(y.kind === 'band' ? {} : { insetTop: 2 }) } as Plot.ScaleOptions,
    color: {
      type: 'linear',
      range: [inks.line, inks.main],
      ...(ramp ? { domain: [ramp.low, ramp.high] } : {}),
    },
    ...(grid ? { fx: { axis: null, padding: 0.12 }, fy: { axis: null, padding: 0.24 } } : {}),
    marks: [
      () => (hatch(0) ? hatchDefinitions(prefix, series, inks) : null),
      ...axesMarks(x, y, inks, { x: turned ? 110 : xRoom, y: yRoom - 12, turned }),
      ...layers.flatMap((layer) => layerMarks(layer, setting)),
      ...(grid
        ? [
            Plot.text(panels, {
              fx: 'fx',
              fy: 'fy',
              text: 'name',
              frameAnchor: 'top-left',
              lineAnchor: 'bottom',
              dy: -5,
              fontWeight: 600,
              fill: inks.ink,
            }),
          ]
        : []),
      ...(isDirect ? [endLabels(ends, inks)] : []),
    ],
  }) as SVGSVGElement;
  // Titles and key stand at places in px, which no mark of a faceted plot can.
  const overlay = Plot.plot({
    width,
    height,
    margin: 0,
    axis: null,
    className: 'chart-drawing',
    marks: [
      ...keyMarks(key.items, inks, hatch),
      ...(ramp ? fillKeyMarks(ramp, key.height, inks) : []),
      ...title(y.title, { x: 4, y: keyHeight + 10, textAnchor: 'start' }),
      ...title(x.title, {
        x: yRoom + (width - yRoom - marginRight) / 2,
        y: height - 9,
        textAnchor: 'middle',
      }),
    ],
  });
  svg.append(...[...overlay.children].filter((child) => child.tagName !== 'style'));
  svg.setAttribute('role', 'img');
  svg.setAttribute('aria-label', altText(spec, x, y, layers));
  return svg;
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
    return {
      sentence:
        missing > 0
          ? `There is nothing to draw: in each of the ${formatNumber(missing)} rows a value that the chart needs is missing.`
          : 'There is nothing to draw: no row answers to this choice of horses and settings.',
    };
  }
  if (marks > MOST_MARKS) {
    return {
      sentence: `This chart would draw ${formatNumber(marks)} marks, and more than ${formatNumber(MOST_MARKS)} cannot be read. Choose fewer horses, or let a query sum the rows up first.`,
    };
  }
  const unfit = (['x', 'y'] as const).reduce(
    (sum, side) => sum + chartAxis(side, spec, layers, tables).unfit,
    0,
  );
  return {
    svg: drawn(spec, layers, tables, options),
    caption: chartCaption(spec, layers, unfit),
    n: chartCounts(own),
  };
}
