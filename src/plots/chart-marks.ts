import * as Plot from '@observablehq/plot';
import { textWidth } from '../core/text-width.ts';
import type { Axis } from './chart-axis.ts';
import { type Datum, distinct, type Layer, type Position } from './chart-data.ts';
import { type Series, seriesName, toneColour } from './chart-series.ts';
import { contrast } from './contrast.ts';
import type { Inks, SeriesLook } from './palette.ts';

export interface MarkSetting {
  readonly x: Axis;
  readonly y: Axis;
  readonly inks: Inks;
  readonly series: readonly Series[];
  /** Steps in px between series of one category; 0 where they need not step aside. */
  readonly dodge: number;
  readonly place: (facet: string | null) => { readonly fx: number; readonly fy: number } | null;
  /** Id of the hatch of a series, for areas. */
  readonly hatch: (at: number) => string | null;
  readonly curve: 'linear' | 'step-after';
}

type Options = Record<string, unknown>;

const PICKED = new Set(['dot', 'interval', 'bar', 'cell', 'text', 'rule', 'line', 'step']);

/** Writes on each drawn element which row it stands for. */
function stamp(layer: Layer, data: readonly Datum[]): Plot.RenderFunction {
  return function stampRows(index, scales, values, dimensions, context, next) {
    const group = next!(index, scales, values, dimensions, context);
    for (const element of group?.querySelectorAll<SVGElement>('*') ?? []) {
      const at = (element as unknown as { __data__?: unknown }).__data__;
      const datum = typeof at === 'number' ? data[at] : undefined;
      if (!datum || datum.row < 0 || element.tagName === 'title') continue;
      element.setAttribute('data-row', String(datum.row));
      element.setAttribute('data-table', layer.data);
    }
    return group;
  };
}

const SVG = 'http://www.w3.org/2000/svg';

/** As `stamp`; and each bar bears its text where it fits, in the ink that stands out from it most. */
function writtenBars(layer: Layer, data: readonly Datum[], inks: Inks): Plot.RenderFunction {
  const stamped = stamp(layer, data);
  return (index, scales, values, dimensions, context, next) => {
    const group = stamped(index, scales, values, dimensions, context, next);
    for (const bar of group?.querySelectorAll<SVGElement>('rect[data-row]') ?? []) {
      const datum = data.find(({ row }) => String(row) === bar.getAttribute('data-row'));
      const [x, y, width, height] = ['x', 'y', 'width', 'height'].map((name) =>
        Number(bar.getAttribute(name)),
      );
      if (!datum?.text || width! < textWidth(datum.text, BAR_TEXT) + 2 || height! < BAR_TEXT - 1) continue;
      const text = document.createElementNS(SVG, 'text');
      const ground = layer.mark.fill === undefined ? null : bar.getAttribute('fill');
      const isPaper = ground !== null && contrast(inks.paper, ground) > contrast(inks.ink, ground);
      const attributes = {
        x: x! + width! / 2,
        y: y! + height! / 2,
        dy: '0.35em',
        fill: isPaper ? inks.paper : inks.ink,
        'text-anchor': 'middle',
        'font-size': BAR_TEXT,
        stroke: 'none',
        'pointer-events': 'none',
      };
      for (const [name, value] of Object.entries(attributes)) text.setAttribute(name, String(value));
      text.textContent = datum.text;
      bar.after(text);
    }
    return group;
  };
}

const BAR_TEXT = 10;

const position = (name: Position) => (datum: Datum) => datum.at[name] ?? Number.NaN;

function positions(layer: Layer, axes: MarkSetting): Options {
  const options: Options = {};
  for (const name of ['x', 'y', 'x1', 'x2', 'y1', 'y2'] as const) {
    if (layer.mark[name] === undefined) continue;
    const { kind } = name.startsWith('x') ? axes.x : axes.y;
    options[name] =
      kind === 'band' ? (datum: Datum) => String(datum.at[name]) : (datum: Datum) => position(name)(datum);
  }
  return options;
}

function facets(layer: Layer, { place }: MarkSetting): Options {
  if (!layer.hasFacet) return {};
  return {
    fx: (datum: Datum) => place(datum.facet)?.fx,
    fy: (datum: Datum) => place(datum.facet)?.fy,
  };
}

function sortAlong(rows: readonly Datum[]): Datum[] {
  const along = (datum: Datum) => Number(datum.at.x);
  return [...rows].sort((a, b) => along(a) - along(b) || a.row - b.row);
}

const isHorizontalBar = (layer: Layer, { x, y }: MarkSetting) =>
  y.kind === 'band' || (x.kind !== 'band' && layer.mark.x1 !== undefined);

function barOf(layer: Layer, setting: MarkSetting, rows: readonly Datum[], options: Options): Plot.Markish {
  const { mark } = layer;
  if (mark.x1 !== undefined && mark.y1 !== undefined) return Plot.rect(rows as Datum[], options);
  return isHorizontalBar(layer, setting)
    ? Plot.barX(rows as Datum[], options)
    : Plot.barY(rows as Datum[], options);
}

function drawSeries(
  layer: Layer,
  setting: MarkSetting,
  rows: readonly Datum[],
  look: SeriesLook,
  at: number,
): Plot.Markish[] {
  const { mark } = layer;
  const { inks, x, y, dodge, series } = setting;
  const shift = dodge * (Math.max(at, 0) - (series.length - 1) / 2);
  const aside = dodge > 0 && at >= 0 ? (y.kind === 'band' ? { dy: shift } : { dx: shift }) : {};
  const titles = { title: (datum: Datum) => datum.title };
  const base: Options = { ...positions(layer, setting), ...facets(layer, setting) };
  const picked = (data: readonly Datum[]): Options =>
    PICKED.has(mark.mark) ? { ...titles, render: stamp(layer, data) } : {};
  const data = rows as Datum[];
  switch (mark.mark) {
    case 'dot':
      return [
        Plot.dot(data, {
          ...base,
          ...aside,
          r: mark.tone === 'soft' ? 2.5 : 4,
          symbol: look.symbol,
          fill: look.colour,
          fillOpacity: mark.tone === 'soft' ? 0.45 : 0.9,
          // A shape paler than WCAG 2.2 lets a graphic be (1.4.11) is drawn round in ink.
          stroke: contrast(look.colour, inks.paper) < 3 ? inks.ink : inks.paper,
          strokeWidth: mark.tone === 'soft' ? 0 : 0.75,
          ...picked(data),
        } as Plot.DotOptions),
      ];
    case 'line':
    case 'step': {
      const sorted = sortAlong(rows);
      const curve = mark.mark === 'step' ? 'step-after' : 'linear';
      const z = mark.series ? { z: (datum: Datum) => datum.series } : { z: null };
      const stroke = {
        stroke: look.colour,
        strokeWidth: mark.tone === 'soft' ? 1 : 2,
        strokeDasharray: look.dash || null,
      };
      // A line has no rows of its own to point at: unseen dots along it do.
      const hits = { ...base, r: 6, fill: inks.ink, fillOpacity: 0, pointerEvents: 'all', ...picked(sorted) };
      return [
        Plot.line(sorted, { ...base, ...z, curve, ...stroke } as Plot.LineOptions),
        Plot.dot(sorted, hits as Plot.DotOptions),
      ];
    }
    case 'band': {
      const sorted = sortAlong(rows);
      const options = { ...base, curve: setting.curve, fill: look.colour, fillOpacity: 0.16, z: null };
      const edge = { stroke: look.colour, strokeWidth: 0.5, strokeDasharray: look.dash || null };
      return [Plot.areaY(sorted, { ...options, ...edge } as Plot.AreaYOptions)];
    }
    case 'interval': {
      const options = {
        ...base,
        ...aside,
        stroke: look.colour,
        strokeWidth: mark.tone === 'soft' ? 1 : 2,
        strokeOpacity: 0.75,
        ...picked(data),
      };
      return [
        mark.x1 !== undefined
          ? Plot.ruleY(data, options as Plot.RuleYOptions)
          : Plot.ruleX(data, options as Plot.RuleXOptions),
      ];
    }
    case 'bar': {
      const hatch = at > 0 && !mark.fill ? setting.hatch(at) : null;
      const plain = { ...base, inset: 0.5, stroke: look.colour, strokeWidth: 0.75 };
      const filled = mark.fill
        ? { fill: (datum: Datum) => datum.fill }
        : { fill: hatch ?? look.colour, fillOpacity: hatch ? 1 : 0.8 };
      const written = mark.text ? { ...titles, render: writtenBars(layer, data, inks) } : picked(data);
      return [barOf(layer, setting, rows, { ...plain, ...filled, ...written })];
    }
    case 'cell':
      return [
        Plot.cell(data, {
          ...base,
          inset: 0.5,
          fill: (datum: Datum) => datum.fill,
          ...picked(data),
        } as Plot.CellOptions),
      ];
    case 'rule': {
      const colour = mark.tone === 'main' && at < 0 ? inks.ink : look.colour;
      const options = { ...base, stroke: colour, strokeWidth: 1, strokeDasharray: '4 3', ...picked(data) };
      const name = mark.label ? [{ ...rows[0]!, text: mark.label }] : [];
      if (mark.x !== undefined) {
        const place = { x: base.x, frameAnchor: 'top', lineAnchor: 'bottom', dy: -4 };
        return [
          Plot.ruleX(data, options as Plot.RuleXOptions),
          Plot.text(name, { ...place, text: 'text', fill: inks.soft } as Plot.TextOptions),
        ];
      }
      const place = { y: base.y, frameAnchor: 'right', textAnchor: 'end', dy: -7 };
      return [
        Plot.ruleY(data, options as Plot.RuleYOptions),
        Plot.text(name, { ...place, text: 'text', fill: inks.soft } as Plot.TextOptions),
      ];
    }
    case 'text': {
      const beside =
        y.kind === 'band' && x.kind !== 'band'
          ? { textAnchor: 'start', dx: 8 }
          : { dy: x.kind === 'band' && y.kind === 'band' ? 0 : -10 };
      const options = {
        ...base,
        ...beside,
        ...(y.kind === 'band' ? aside : {}),
        text: (datum: Datum) => datum.text,
        fill: mark.tone === 'soft' ? inks.soft : inks.ink,
      };
      return [Plot.text(data, { ...options, ...picked(data) } as Plot.TextOptions)];
    }
  }
}

/** The marks of one layer, a series at a time, so that each has its own colour, shape and dash. */
export function layerMarks(layer: Layer, setting: MarkSetting): Plot.Markish[] {
  const { inks, series } = setting;
  const names = distinct(layer.rows.map((datum) => seriesName(layer, datum)));
  const plain: SeriesLook = {
    colour: toneColour(layer.mark.tone, inks) ?? inks.main,
    symbol: 'circle',
    dash: '',
  };
  const nameless = layer.rows.filter((datum) => seriesName(layer, datum) === null);
  return [
    ...(nameless.length > 0 ? drawSeries(layer, setting, nameless, plain, -1) : []),
    ...names.flatMap((name) => {
      const at = series.findIndex((each) => each.name === name);
      const rows = layer.rows.filter((datum) => seriesName(layer, datum) === name);
      const { look } = series[at]!;
      const colour = toneColour(layer.mark.tone, inks) ?? look.colour;
      return drawSeries(layer, setting, rows, { ...look, colour }, at);
    }),
  ];
}
