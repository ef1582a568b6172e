// @vitest-environment jsdom
import { describe, expect, it } from 'vitest';
import { makeTable, numberColumn, textColumn } from '../../src/core/table.ts';
import { textWidth } from '../../src/core/text-width.ts';
import type { ChartTable } from '../../src/plots/chart-data.ts';
import { chartSpec } from '../../src/plots/chart-spec.ts';
import { drawChart } from '../../src/plots/draw-chart.ts';

/** What is left of a window of 320 px, as a page at 400 % in a window of 1280 px has it. */
const NARROW = 240;
const WAYS = ['crack from the ground, then wall infection', 'wall infection, then separation'];
const READINGS = ['two-state model, unseen returns counted as well', 'visit date taken'];

const ratios: ChartTable = {
  table: makeTable({
    way: textColumn([WAYS[0]!, WAYS[1]!, WAYS[0]!, WAYS[1]!]),
    kind: textColumn(['as recorded', 'as recorded', 'alike', 'alike']),
    ratio: numberColumn([2, 1.2, 1.8, 1.1]),
    low: numberColumn([1, 0.9, 0.9, 0.8]),
    high: numberColumn([3, 2, 2.9, 1.9]),
  }),
  columns: [{ name: 'ratio', label: 'Times as often with the way in as without it', unit: 'ratio' }],
};
const curves: ChartTable = {
  table: makeTable({
    days: numberColumn([0, 100, 0, 100]),
    share: numberColumn([0, 0.4, 0, 0.3]),
    reading: textColumn([READINGS[0]!, READINGS[0]!, READINGS[1]!, READINGS[1]!]),
  }),
  columns: [],
};

function svgOf(table: ChartTable, spec: object, width: number): SVGSVGElement {
  const chart = drawChart(chartSpec.parse({ data: 'r', ...spec }), { r: table }, { width, theme: 'light' });
  if (!('svg' in chart)) throw new Error(chart.sentence);
  return chart.svg;
}

const across = (element: Element): number =>
  Number(/translate\((-?[\d.]+)/.exec(element.getAttribute('transform') ?? '')?.[1] ?? 0);

/** Words that reach over an edge of the drawing, by the width that the drawing itself counts with. */
function cutWords(svg: SVGSVGElement, width: number): string[] {
  return [...svg.querySelectorAll('text')].flatMap((text) => {
    const style = (name: string) => text.closest(`g[${name}]`)?.getAttribute(name);
    let at = Number(text.getAttribute('dx') ?? 0) + Number(text.getAttribute('x') ?? 0);
    for (let each: Element | null = text; each && each !== svg; each = each.parentElement) at += across(each);
    const lines = [...text.querySelectorAll('tspan')].map((line) => line.textContent ?? '');
    const direct = [...text.childNodes].filter(({ nodeName }) => nodeName === '#text');
    const words = [...lines, ...direct.map(({ textContent }) => textContent ?? '')];
    return words.filter((line) => {
      const wide = textWidth(line);
      const anchor = text.getAttribute('text-anchor') ?? style('text-anchor') ?? 'middle';
      const left = at - wide * (anchor === 'start' ? 0 : anchor === 'end' ? 1 : 0.5);
      return left < -2 || left + wide > width + 2;
    });
  });
}

const FOREST = {
  marks: [
    { mark: 'interval', x1: 'low', x2: 'high', y: 'way', by: 'kind' },
    { mark: 'dot', x: 'ratio', y: 'way', by: 'kind' },
    { mark: 'rule', x: 3, label: 'handbooks: 2 to 3' },
  ],
  y: { label: '', room: 300 },
};

describe('a drawing in a narrow window', () => {
  it('writes names over the marks where beside them they would be cut', () => {
    const svg = svgOf(ratios, FOREST, NARROW);
    expect(svg.querySelector('[data-mark="y-axis tick label"]')).toBeNull();
    expect(svg.textContent).toContain(WAYS[1]);
    const wide = svgOf(ratios, FOREST, 900);
    expect(wide.querySelector('[data-mark="y-axis tick label"]')?.textContent).toContain(WAYS[0]);
  });

  it('wraps titles of axes and names of panels, and keeps every word inside', () => {
    expect(cutWords(svgOf(ratios, FOREST, NARROW), NARROW)).toEqual([]);
    const panels = { marks: [{ mark: 'dot', x: 'ratio', y: 'kind' }], facet: { by: 'way' } };
    const svg = svgOf(ratios, panels, NARROW);
    expect(cutWords(svg, NARROW)).toEqual([]);
    const lines = [...svg.querySelectorAll('text')].map((text) => text.textContent);
    expect(lines).toEqual(
      expect.arrayContaining(['Times as often with the way in as', 'without it (ratio)']),
    );
  });

  it('names series in a key, in lines that fit, where no room is left at the end of the lines', () => {
    const spec = { marks: [{ mark: 'line', x: 'days', y: 'share', by: 'reading' }] };
    const svg = svgOf(curves, spec, NARROW);
    expect(svg.querySelector('[data-mark=series]')).toBeNull();
    expect(cutWords(svg, NARROW)).toEqual([]);
    const wide = svgOf(curves, spec, 1100);
    expect(wide.querySelector('[data-mark=series]')?.textContent).toContain(READINGS[0]);
  });
});
