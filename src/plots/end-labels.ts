import type * as Plot from '@observablehq/plot';
import type { ChartValue, Layer } from './chart-data.ts';
import { type Series, seriesName } from './chart-series.ts';
import type { Inks } from './palette.ts';

const LINE = 15;
const SVG = 'http://www.w3.org/2000/svg';

interface End {
  readonly series: Series;
  readonly x: ChartValue;
  readonly y: ChartValue;
}

/** The last point of each series that is drawn as a line; null when some series has no line to stand beside. */
export function lineEnds(layers: readonly Layer[], series: readonly Series[]): End[] | null {
  const ends = series.map((each): End | null => {
    const points = layers
      .filter(({ mark }) => mark.mark === 'line' || mark.mark === 'step')
      .flatMap((layer) => layer.rows.filter((datum) => seriesName(layer, datum) === each.name))
      .filter(({ at }) => at.y !== null && at.y !== undefined)
      .sort((a, b) => Number(a.at.x) - Number(b.at.x));
    const last = points.at(-1);
    return last ? { series: each, x: last.at.x ?? null, y: last.at.y ?? null } : null;
  });
  return ends.every((end) => end !== null) ? ends : null;
}

/** Moves labels apart: each at least a line below the one before, the whole kept inside. */
export function spread(wanted: readonly number[], top: number, bottom: number, gap: number = LINE): number[] {
  const order = wanted.map((y, at) => ({ y, at })).sort((a, b) => a.y - b.y || a.at - b.at);
  let low = top;
  const placed = order.map(({ y }) => {
    const at = Math.max(y, low);
    low = at + gap;
    return at;
  });
  let high = bottom;
  for (let at = placed.length - 1; at >= 0; at -= 1) {
    placed[at] = Math.min(placed[at]!, high);
    high = placed[at]! - gap;
  }
  const result = new Array<number>(wanted.length);
  order.forEach(({ at }, place) => {
    result[at] = placed[place]!;
  });
  return result;
}

/** A mark that writes each series' name in the right margin beside the end of its line. */
export function endLabels(ends: readonly End[], inks: Inks): Plot.RenderFunction {
  return (_index, scales, _values, dimensions, context) => {
    const { document } = context as unknown as { document: Document };
    const x = scales.x as (value: unknown) => number;
    const y = scales.y as (value: unknown) => number;
    const { width, height, marginRight, marginTop, marginBottom } = dimensions;
    const wanted = ends.map((end) => y(end.y));
    const placed = spread(wanted, marginTop + 4, height - marginBottom - 4);
    const group = document.createElementNS(SVG, 'g');
    group.setAttribute('aria-label', 'series');
    const make = (name: string, attributes: Record<string, string | number>) => {
      const element = document.createElementNS(SVG, name);
      for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
      group.append(element);
      return element;
    };
    ends.forEach((end, at) => {
      const left = width - marginRight + 6;
      make('path', {
        d: `M${x(end.x) + 2},${wanted[at]}L${left},${placed[at]}`,
        stroke: inks.line,
        fill: 'none',
      });
      const { colour, dash } = end.series.look;
      make('path', {
        d: `M${left},${placed[at]}h18`,
        stroke: colour,
        'stroke-width': 2,
        'stroke-dasharray': dash || 'none',
        fill: 'none',
      });
      const text = make('text', {
        x: left + 23,
        y: placed[at]!,
        dy: '0.32em',
        fill: inks.ink,
        'text-anchor': 'start',
      });
      text.textContent = end.series.name;
    });
    return group;
  };
}
