import * as Plot from '@observablehq/plot';
import { textWidth, wrapped } from '../core/text-width.ts';
import type { Series } from './chart-series.ts';
import type { Inks } from './palette.ts';

export interface KeyItem {
  readonly series: Series;
  readonly at: number;
  /** The name, in lines that fit. */
  readonly lines: readonly string[];
  /** Left edge and middle of the first line, px in the drawing. */
  readonly x: number;
  readonly y: number;
}

const SWATCH = 24;
export const KEY_LINE = 20;
const NEXT_LINE = 14;

/** Lays the key out in lines that fit the width. */
export function layOutKey(
  series: readonly Series[],
  left: number,
  width: number,
): { items: KeyItem[]; height: number } {
  const items: KeyItem[] = [];
  let x = left;
  let top = 0;
  let tallest = 0;
  series.forEach((each, at) => {
    const needed = SWATCH + 6 + textWidth(each.name) + 18;
    if (x > left && x + needed > width) {
      x = left;
      top += tallest;
      tallest = 0;
    }
    const lines = wrapped(each.name, width - x - SWATCH - 6);
    tallest = Math.max(tallest, KEY_LINE + NEXT_LINE * (lines.length - 1));
    items.push({ series: each, at, lines, x, y: top + KEY_LINE / 2 });
    x += needed;
  });
  return { items, height: items.length > 0 ? top + tallest + 4 : 0 };
}

const px = <T>(value: (each: T) => number) => ({ value, scale: null });
const has = (item: KeyItem, ...marks: string[]) => marks.some((mark) => item.series.marks.has(mark));

/** Draws the key with the same kinds of mark that the chart uses, at places in px. */
export function keyMarks(
  items: readonly KeyItem[],
  inks: Inks,
  hatch: (at: number) => string | null,
): Plot.Markish[] {
  const one = (item: KeyItem): Plot.Markish[] => {
    const { look } = item.series;
    const marks: Plot.Markish[] = [];
    const data = [item];
    if (has(item, 'bar', 'band', 'cell')) {
      const isBar = has(item, 'bar');
      const area = {
        x1: px<KeyItem>(({ x }) => x + 2),
        x2: px<KeyItem>(({ x }) => x + SWATCH - 2),
        y1: px<KeyItem>(({ y }) => y),
        y2: px<KeyItem>(({ y }) => y),
        stroke: (isBar ? hatch(item.at) : null) ?? look.colour,
        strokeOpacity: isBar ? 0.9 : 0.2,
        strokeWidth: 12,
        strokeLinecap: 'butt',
      };
      marks.push(Plot.link(data, area as unknown as Plot.LinkOptions));
    }
    if (has(item, 'line', 'step', 'interval', 'rule')) {
      const line = {
        x1: px<KeyItem>(({ x }) => x),
        x2: px<KeyItem>(({ x }) => x + SWATCH),
        y1: px<KeyItem>(({ y }) => y),
        y2: px<KeyItem>(({ y }) => y),
        stroke: look.colour,
        strokeWidth: 2,
        strokeDasharray: has(item, 'line', 'step') ? look.dash || null : null,
      };
      marks.push(Plot.link(data, line as unknown as Plot.LinkOptions));
    }
    if (has(item, 'dot')) {
      const dot = {
        x: px<KeyItem>(({ x }) => x + SWATCH / 2),
        y: px<KeyItem>(({ y }) => y),
        r: 4,
        symbol: look.symbol,
        fill: look.colour,
      };
      marks.push(Plot.dot(data, dot as unknown as Plot.DotOptions));
    }
    item.lines.forEach((line, at) => {
      const name = {
        x: px<KeyItem>(({ x }) => x + SWATCH + 6),
        y: px<KeyItem>(({ y }) => y + at * NEXT_LINE),
        text: () => line,
        textAnchor: 'start',
        fill: inks.ink,
      };
      marks.push(Plot.text(data, name as unknown as Plot.TextOptions));
    });
    return marks;
  };
  return items.flatMap(one);
}

const STEPS = [0, 0.25, 0.5, 0.75, 1] as const;

/** A colour between two given as `#rrggbb`; the same straight mixture that the chart's own scale makes. */
export function mixColours(from: string, to: string, share: number): string {
  const part = (colour: string, at: number) => Number.parseInt(colour.slice(1 + 2 * at, 3 + 2 * at), 16);
  const mixed = [0, 1, 2].map((at) => Math.round(part(from, at) + share * (part(to, at) - part(from, at))));
  return `#${mixed.map((value) => value.toString(16).padStart(2, '0')).join('')}`;
}

/** The ends of a scale of lightness, with steps between: `least ▭▭▭▭▭ most  what it shows`. */
export function fillKeyMarks(
  ends: { readonly least: string; readonly most: string; readonly title: string },
  top: number,
  inks: Inks,
): Plot.Markish[] {
  const y = top + KEY_LINE / 2;
  const left = 10 + textWidth(ends.least);
  const swatches = STEPS.map((share, at) => ({ share, x: left + at * 20 }));
  const texts = [
    { text: ends.least, x: 4 },
    { text: `${ends.most}   ${ends.title}`, x: left + STEPS.length * 20 + 6 },
  ];
  const boxes = swatches.map((each) => {
    const line = {
      x1: px<{ x: number }>(({ x }) => x),
      x2: px<{ x: number }>(({ x }) => x + 20),
      y1: px(() => y),
      y2: px(() => y),
      stroke: mixColours(inks.line, inks.main, each.share),
      strokeWidth: 12,
      strokeLinecap: 'butt',
    };
    return Plot.link([each], line as unknown as Plot.LinkOptions);
  });
  const words = {
    x: px<{ x: number }>(({ x }) => x),
    y: px(() => y),
    text: 'text',
    textAnchor: 'start',
    fill: inks.ink,
  };
  return [...boxes, Plot.text(texts, words as unknown as Plot.TextOptions)];
}
