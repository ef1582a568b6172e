import { columnTitle, formatNumber } from '../core/format-value.ts';
import { textWidth } from '../core/text-width.ts';
import type { Axis } from './chart-axis.ts';
import { distinct, type Layer } from './chart-data.ts';
import { KEY_LINE, type KeyItem, layOutKey } from './chart-key.ts';
import { needsDodge, type Series } from './chart-series.ts';
import type { ChartSpec } from './chart-spec.ts';
import { lineEnds } from './end-labels.ts';

/** Small multiples in reading order. */
export interface Grid {
  readonly names: readonly string[];
  readonly columns: number;
  readonly rows: number;
}

export interface FillEnds {
  readonly low: number;
  readonly high: number;
  readonly least: string;
  readonly most: string;
  readonly title: string;
}

/** Where everything stands, in px. */
export interface ChartLayout {
  readonly width: number;
  readonly height: number;
  readonly margin: {
    readonly top: number;
    readonly right: number;
    readonly bottom: number;
    readonly left: number;
  };
  readonly grid: Grid | null;
  /** Names at the ends of lines, where they stand in place of a key. */
  readonly ends: ReturnType<typeof lineEnds>;
  readonly key: readonly KeyItem[];
  readonly keyHeight: number;
  readonly fill: FillEnds | null;
  readonly fillTop: number;
  /** Room for a category's name beside, and under, its axis; `isTurned` where those under it stand aslant. */
  readonly roomY: number;
  readonly roomX: number;
  readonly isTurned: boolean;
  /** Of the names of categories down the side: smaller where they stand close. */
  readonly nameSize: number;
  /** Steps between series of one category; 0 where they need not step aside. */
  readonly dodge: number;
}

const TURNED_MOST = 110;

function facetGrid(spec: ChartSpec, layers: readonly Layer[], width: number): Grid | null {
  if (!spec.facet) return null;
  const names = distinct(layers.flatMap(({ rows }) => rows.map((datum) => datum.facet)));
  if (names.length === 0) return null;
  const fitting = Math.max(1, Math.floor(width / 230));
  const columns = Math.min(names.length, spec.facet.columns ?? fitting, fitting);
  return { names, columns, rows: Math.ceil(names.length / columns) };
}

/** What cells show by lightness, and its two ends; null where no layer does. */
function fillEnds(layers: readonly Layer[]): FillEnds | null {
  const layer = layers.find(({ mark, rows }) => mark.fill && rows.some(({ fill }) => fill !== null));
  if (!layer) return null;
  const values = layers.flatMap(({ rows }) => rows.flatMap(({ fill }) => fill ?? []));
  const [low, high] = layer.mark.range ?? [Math.min(...values), Math.max(...values)];
  const name = layer.mark.fill!;
  const column = layer.source.columns.find((each) => each.name === name) ?? { name, label: name };
  const shown = (value: number) => formatNumber(value, column.digits);
  return { low, high, least: shown(low), most: shown(high), title: columnTitle(column) };
}

function widestName(axis: Axis, most: number): number {
  const widest = axis.domain.reduce<number>((width, each) => Math.max(width, textWidth(String(each))), 0);
  return Math.min(widest + 14, most);
}

/** Down the side, so many categories stand closer the more there are. */
function pitchOf(count: number, lanes: number): number {
  const wide = count <= 30 ? 22 : count <= 60 ? 17 : 13;
  return lanes > 1 ? Math.max(wide, lanes * 9 + 8) : wide;
}

function panelHeight(y: Axis, width: number, lanes: number, grid: Grid | null): number {
  const panel = y.kind === 'band' ? y.domain.length * pitchOf(y.domain.length, lanes) + 12 : null;
  if (grid) return grid.rows * ((panel ?? 150) + 40);
  return panel ?? Math.min(400, Math.max(240, width * 0.5));
}

export function chartLayout(
  spec: ChartSpec,
  layers: readonly Layer[],
  { x, y }: { readonly x: Axis; readonly y: Axis },
  series: readonly Series[],
  width: number,
): ChartLayout {
  const grid = facetGrid(spec, layers, width);
  const banded = y.kind === 'band' ? 'y' : x.kind === 'band' ? 'x' : null;
  const lanes = banded && spec.aside && needsDodge(layers, banded) ? series.length : 1;
  const found = grid || banded || series.length > 7 ? null : lineEnds(layers, series);
  const ends = found && found.length > 1 ? found : null;
  const key = layOutKey(ends ? [] : series, 4, width - 8);
  const fill = fillEnds(layers);
  const keyHeight = key.height + (fill ? KEY_LINE + 4 : 0);

  const roomY = spec.y.room ?? (y.kind === 'band' ? widestName(y, width * 0.36) : 46);
  const names = ends ? Math.max(...ends.map((end) => textWidth(end.series.name))) + 36 : 0;
  const texts = layers.some(({ mark }) => mark.mark === 'text') && y.kind === 'band' ? 40 : 0;
  const right = Math.min(width * 0.35, Math.max(16, names, texts));
  const across = (width - roomY - right) / (grid?.columns ?? 1);
  const roomX = x.kind === 'band' ? across / Math.max(1, x.domain.length) : 0;
  const isTurned = x.kind === 'band' && widestName(x, Number.POSITIVE_INFINITY) - 6 > roomX;
  const depth = isTurned
    ? widestName(x, TURNED_MOST) * 0.72 + 10
    : x.kind === 'date' && x.format !== 'month'
      ? 34
      : 24;
  const top = keyHeight + (y.title ? 26 : 8) + (grid ? 18 : 0);
  const bottom = depth + (x.title ? 20 : 0);
  const height = spec.height ?? Math.round(panelHeight(y, width, lanes, grid) + top + bottom);
  const pitch = (height - top - bottom) / Math.max(1, y.domain.length) / (grid?.rows ?? 1);
  return {
    width,
    height,
    margin: { top, right, bottom, left: roomY },
    grid,
    ends,
    key: key.items,
    keyHeight,
    fill,
    fillTop: key.height,
    roomY: roomY - 12,
    roomX: isTurned ? TURNED_MOST : roomX,
    isTurned,
    nameSize: y.kind === 'band' ? Math.max(8, Math.min(12, pitch - 2)) : 12,
    dodge: lanes > 1 ? Math.min(9, 18 / (lanes - 1)) : 0,
  };
}
