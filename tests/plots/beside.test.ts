// @vitest-environment jsdom
import { describe, expect, it } from 'vitest';
import { makeTable, numberColumn, textColumn } from '../../src/core/table.ts';
import type { ChartTable } from '../../src/plots/chart-data.ts';
import { chartSpec } from '../../src/plots/chart-spec.ts';
import { drawChart } from '../../src/plots/draw-chart.ts';

const TENDER: ChartTable = {
  table: makeTable({
    advice: textColumn(['may stay bare', 'may stay bare', 'protect', 'protect']),
    done: textColumn(['bare', 'protected', 'bare', 'protected']),
    estimate: numberColumn([0.02, 0.01, 0.06, 0.05]),
    conf_low: numberColumn([0.01, 0, 0.05, 0.04]),
    conf_high: numberColumn([0.09, 0.5, 0.07, 0.06]),
    n_horses: numberColumn([7, 6, 118, 1204]),
  }),
  columns: [{ name: 'n_horses', label: 'Horses', digits: 0 }],
};
const FOREST = {
  data: 'tender',
  marks: [
    { mark: 'interval', y: 'advice', x1: 'conf_low', x2: 'conf_high', by: 'done' },
    { mark: 'dot', y: 'advice', x: 'estimate', by: 'done' },
  ],
  x: { format: 'percent', zero: true },
};

function drawn(spec: object, width = 600): SVGSVGElement {
  const chart = drawChart(chartSpec.parse(spec), { tender: TENDER }, { width, theme: 'light' });
  if (!('svg' in chart)) throw new Error(`no drawing: ${chart.sentence}`);
  return chart.svg;
}
const across = (element: Element) =>
  Number(/translate\((-?[\d.]+)/.exec(element.getAttribute('transform') ?? '')?.[1]);
const down = (element: Element) =>
  Number(/translate\([^,]+,(-?[\d.]+)/.exec(element.getAttribute('transform') ?? '')?.[1]);
const texts = (svg: Element) => [...svg.querySelectorAll('text')];
const counts = (svg: Element) => texts(svg).filter((text) => /^[\d,]+$/.test(text.textContent ?? ''));
const furthest = (svg: Element) =>
  Math.max(...[...svg.querySelectorAll('line[data-row]')].map((line) => Number(line.getAttribute('x2'))));

describe('counts beside the marks', () => {
  it('stand one to a mark under the name of their column, right of every interval', () => {
    const svg = drawn({ ...FOREST, beside: 'n_horses' });
    expect(counts(svg).map(({ textContent }) => textContent)).toEqual(['7', '118', '6', '1,204']);
    expect(texts(svg).map(({ textContent }) => textContent)).toContain('Horses');
    for (const count of counts(svg)) expect(across(count)).toBeGreaterThan(furthest(svg) + 20);
  });

  it('are far enough apart to be read where two series share a category', () => {
    const svg = drawn({ ...FOREST, beside: 'n_horses' });
    const groups = [...svg.querySelectorAll('g')].filter((group) => counts(group).length === 2);
    const shift = groups.map((group) => down(group)).filter((each) => !Number.isNaN(each));
    expect(Math.max(...shift) - Math.min(...shift)).toBeGreaterThanOrEqual(12);
  });

  it('are left out where nobody asked for them, and where a panel is too narrow', () => {
    expect(counts(drawn(FOREST))).toHaveLength(0);
    const facet = { by: 'done', columns: 2 };
    expect(counts(drawn({ ...FOREST, facet, beside: 'n_horses' }, 800))).toHaveLength(4);
    expect(counts(drawn({ ...FOREST, facet, beside: 'n_horses' }, 460))).toHaveLength(0);
  });

  it('must be a column of the data', () => {
    expect(() => drawn({ ...FOREST, beside: 'n_mules' })).toThrow('n_mules');
  });
});
