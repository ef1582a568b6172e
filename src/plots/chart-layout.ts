import { columnTitle, formatNumber } from '../core/format-value.ts';
import { textWidth, wrapped } from '../core/text-width.ts';
import { type Beside, besideOf } from './beside.ts';
import type { Axis } from './chart-axis.ts';
import { distinct, type Layer } from './chart-data.ts';
import { KEY_LINE, type KeyItem, layOutKey } from './chart-key.ts';
import { needsDodge, type Series } from './chart-series.ts';
import type { ChartSpec } from './chart-spec.ts';
import { lineEnds } from './end-labels.ts';

/** Small multiples in reading order. */
interface Grid {
  readonly names: readonly string[];
  readonly columns: number;
  readonly rows: number;
  /** Names in lines that fit, and px that the lines after the first need. */
  readonly lines: ReadonlyMap<string, readonly string[]>;
  readonly more: number;
}

interface FillEnds {
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
  /** Titles of the axes, in lines that fit. */
  readonly titleX: readonly string[];
  readonly titleY: readonly string[];
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
  /** px from a category's middle up to its name, where names stand over the marks; 0 where they stand beside. */
  readonly nameRise: number;
  /** Counts beside the marks, at the right edge. */
  readonly beside: Beside | null;
  /** Steps between series of one category; 0 where they need not step aside. */
  readonly dodge: number;
}

const TURNED_MOST = 110;
export const TEXT_LINE = 14;
/** px between a row of panels and the next. */
export const PANEL_GAP = 36;
/** Of the width, the most that names at the end of lines take; where they would take more, a key stands instead. */
const ENDS_MOST = 0.35;

/** Names of panels are bold, and so somewhat wider than their size says. */
const NAME_SIZE = 13;

function facetGrid(spec: ChartSpec, layers: readonly Layer[], isBand: boolean, width: number): Grid | null {
  if (!spec.facet) return null;
  const names = distinct(layers.flatMap(({ rows }) => rows.map((datum) => datum.facet)));
  if (names.length === 0) return null;
  const fitting = Math.max(1, Math.floor(width / 230));
  const columns = Math.min(names.length, spec.facet.columns ?? fitting, fitting);
  // A panel alone in its row may use the width of the whole drawing, where no figure stands beside its top.
  const room = columns === 1 && isBand ? width - 8 : ((width - 62) / columns) * (columns === 1 ? 1 : 0.88);
  const lines = new Map(names.map((name) => [name, wrapped(name, room, NAME_SIZE)]));
  const most = Math.max(...[...lines.values()].map((each) => each.length));
  return { names, columns, rows: Math.ceil(names.length / columns), lines, more: TEXT_LINE * (most - 1) };
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

/** Of the width, the most that names beside the marks take. */
const BESIDE_MOST = 0.36;

function widestName(axis: Axis, most: number): number {
  const widest = axis.domain.reduce<number>((width, each) => Math.max(width, textWidth(String(each))), 0);
  return Math.min(widest + 14, most);
}

/** Whether names down the side would be cut or crowd the marks out. Bars and cells fill the place over them. */
function areNamesOver(spec: ChartSpec, layers: readonly Layer[], y: Axis, width: number): boolean {
  if (y.kind !== 'band' || layers.some(({ mark }) => mark.mark === 'bar' || mark.mark === 'cell'))
    return false;
  const needed = widestName(y, Number.POSITIVE_INFINITY);
  return needed > Math.max(width * BESIDE_MOST, Math.min(spec.y.room ?? 0, width * 0.45));
}

/** px from lane to lane of one category: figures beside them need more than marks do. */
const LANE = { marks: 9, counts: 13 } as const;

/** Down the side, so many categories stand closer the more there are. */
function pitchOf(count: number, lanes: number, lane: number, isOver: boolean): number {
  if (isOver) return 34 + (lane + 4) * (lanes - 1);
  const wide = count <= 30 ? 22 : count <= 60 ? 17 : 13;
  return lanes > 1 ? Math.max(wide, lanes * lane + 8) : wide;
}

function panelHeight(
  y: Axis,
  width: number,
  { lanes, lane }: { readonly lanes: number; readonly lane: number },
  isOver: boolean,
  grid: Grid | null,
): number {
  const panel =
    y.kind === 'band' ? y.domain.length * pitchOf(y.domain.length, lanes, lane, isOver) + 12 : null;
  if (grid) return grid.rows > 1 ? grid.rows * ((panel ?? 150) + PANEL_GAP + grid.more) : (panel ?? 150);
  return panel ?? Math.min(400, Math.max(240, width * 0.5));
}

export function chartLayout(
  spec: ChartSpec,
  layers: readonly Layer[],
  { x, y }: { readonly x: Axis; readonly y: Axis },
  series: readonly Series[],
  width: number,
): ChartLayout {
  const grid = facetGrid(spec, layers, y.kind === 'band', width);
  const banded = y.kind === 'band' ? 'y' : x.kind === 'band' ? 'x' : null;
  const lanes = banded && spec.aside && needsDodge(layers, banded) ? series.length : 1;
  const found = grid || banded || series.length > 7 ? null : lineEnds(layers, series);
  const names =
    found && found.length > 1 ? Math.max(...found.map((end) => textWidth(end.series.name))) + 36 : 0;
  const ends = names > 0 && names <= width * ENDS_MOST ? found : null;
  const key = layOutKey(ends ? [] : series, 4, width - 8);
  const fill = fillEnds(layers);
  const keyHeight = key.height + (fill ? KEY_LINE + 4 : 0);

  const isOver = areNamesOver(spec, layers, y, width);
  const nameRoom = spec.y.room ?? (y.kind === 'band' ? widestName(y, width * BESIDE_MOST) : 46);
  const roomY = isOver ? 16 : Math.min(nameRoom, width * 0.45);
  const titleX = wrapped(x.title, width - 8);
  const titleY = wrapped(y.title, width - 8);
  const texts = layers.some(({ mark }) => mark.mark === 'text') && y.kind === 'band' ? 40 : 0;
  // The last figure of an axis in percent stands half over the edge.
  const edge = x.format === 'percent' ? 22 : 16;
  const right = Math.min(width * ENDS_MOST, Math.max(edge, ends ? names : 0, texts));
  const across = (width - roomY - right) / (grid?.columns ?? 1);
  const beside = besideOf(spec.beside, layers, y, across);
  const lane = beside ? LANE.counts : LANE.marks;
  const roomX = x.kind === 'band' ? across / Math.max(1, x.domain.length) : 0;
  const isTurned = x.kind === 'band' && widestName(x, Number.POSITIVE_INFINITY) - 6 > roomX;
  const depth = isTurned
    ? widestName(x, TURNED_MOST) * 0.72 + 10
    : x.kind === 'date' && x.format !== 'month'
      ? 34
      : 24;
  const more = (lines: readonly string[]) => TEXT_LINE * Math.max(0, lines.length - 1);
  const top =
    keyHeight +
    (titleY.length > 0 ? 26 : beside && !grid ? 22 : 8) +
    more(titleY) +
    (grid ? 18 + grid.more : 0);
  const bottom = depth + (titleX.length > 0 ? 20 : 0) + more(titleX);
  const needed = Math.round(panelHeight(y, width, { lanes, lane }, isOver, grid) + top + bottom);
  const given = spec.height && spec.height + more(titleX) + more(titleY);
  const height = given && isOver ? Math.max(given, needed) : (given ?? needed);
  const pitch = (height - top - bottom) / Math.max(1, y.domain.length) / (grid?.rows ?? 1);
  return {
    width,
    height,
    margin: { top, right, bottom, left: roomY },
    grid,
    titleX,
    titleY,
    ends,
    key: key.items,
    keyHeight,
    fill,
    fillTop: key.height,
    roomY: roomY - 12,
    roomX: isTurned ? TURNED_MOST : roomX,
    isTurned,
    nameSize: y.kind === 'band' ? Math.max(8, Math.min(12, pitch - 2)) : 12,
    nameRise: isOver ? 10.5 + (lane / 2 + 2) * (lanes - 1) : 0,
    beside,
    dodge: lanes > 1 ? Math.min(lane, (2 * lane) / (lanes - 1)) : 0,
  };
}
