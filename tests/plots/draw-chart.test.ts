// @vitest-environment jsdom
import { describe, expect, it } from 'vitest';
import { dayColumn, makeTable, numberColumn, textColumn } from '../../src/core/table.ts';
import type { ChartTable } from '../../src/plots/chart-data.ts';
import { chartSpec } from '../../src/plots/chart-spec.ts';
import { type Chart, drawChart, MOST_MARKS } from '../../src/plots/draw-chart.ts';
import { normalSvg } from './normal-svg.ts';

const RATES: ChartTable = {
  table: makeTable({
    horse_name: textColumn(['Ada', 'Bo', 'Cy', 'Di']),
    breed_type: textColumn(['draft', 'pony', 'draft', 'pony']),
    estimate: numberColumn([7.25, 9, null, 8]),
    conf_low: numberColumn([6, 8, null, 7]),
    conf_high: numberColumn([8, 10, null, 9]),
    n_horses: numberColumn([1, 1, 1, 1]),
    n_cycles: numberColumn([12, 4, 2, 30]),
  }),
  columns: [
    { name: 'horse_name', label: 'horse' },
    { name: 'estimate', label: 'toe regrowth', unit: 'mm per 30 days', digits: 1 },
  ],
};
const FOREST = {
  data: 'r',
  marks: [
    { mark: 'interval', x1: 'conf_low', x2: 'conf_high', y: 'horse_name', by: 'breed_type' },
    { mark: 'dot', x: 'estimate', y: 'horse_name', by: 'breed_type' },
    { mark: 'rule', x: 7.5, label: 'herd mean' },
  ],
  x: { zero: true },
  y: { sort: { by: 'estimate', order: 'descending' } },
  caption: 'Each horse.',
};

const draw = (spec: object, tables: Record<string, ChartTable> = { r: RATES }, width = 600): Chart =>
  drawChart(chartSpec.parse(spec), tables, { width, theme: 'light' });
function drawnOf(chart: Chart) {
  if (!('svg' in chart)) throw new Error(`no drawing: ${chart.sentence}`);
  return chart;
}
const svgOf = (spec: object, tables?: Record<string, ChartTable>, width?: number) =>
  drawnOf(draw(spec, tables, width)).svg;
const textsOf = (svg: Element) => [...svg.querySelectorAll('text')].map((text) => text.textContent);
const rowsOf = (svg: Element) =>
  [...svg.querySelectorAll('[data-row]')].map((element) => element.getAttribute('data-row'));

describe('drawChart', () => {
  it('draws a chart of estimates with their intervals', () => {
    expect(normalSvg(svgOf(FOREST))).toMatchSnapshot();
  });

  it('says what the axes show, with the unit, and gives the drawing a name', () => {
    const svg = svgOf(FOREST);
    expect(textsOf(svg)).toEqual(
      expect.arrayContaining(['toe regrowth (mm per 30 days)', 'horse', 'herd mean']),
    );
    expect(svg.getAttribute('role')).toBe('img');
    expect(svg.getAttribute('aria-label')).toBe(
      'horse against toe regrowth (mm per 30 days), 3 values; the same numbers as a table follow',
    );
    expect(svgOf({ ...FOREST, alt: 'Four horses' }).getAttribute('aria-label')).toBe('Four horses');
  });

  it('writes what the bars mean, n, and how many rows could not be drawn into the caption', () => {
    expect(drawnOf(draw(FOREST)).caption).toBe(
      'Each horse. Bars through the marks are 95 % intervals. n behind each value: 1 horse and 4 to 30 trim cycles. Not drawn, since a value is missing: 1.',
    );
    const whole = { ...RATES, counts: { horses: 4, feet: 16, cycles: 48 } };
    const chart = drawnOf(draw(FOREST, { r: whole }));
    expect(chart.caption).toContain(
      'n: 4 horses, 16 feet and 48 trim cycles; behind each value 1 horse and 4 to 30 trim cycles.',
    );
    // Beside one horse stands its herd.
    const one = { ...RATES, counts: { horses: 1, feet: 4, cycles: 12 } };
    expect(drawnOf(draw(FOREST, { r: one })).caption).toContain(
      'n: 1 horse, 4 feet and 30 trim cycles; behind each value 1 horse and 4 to 30 trim cycles.',
    );
    expect(chart.n).toEqual({ horses: [1, 1], feet: null, cycles: [4, 30], visits: null });
  });

  it('orders categories as the page says, and marks each drawn element with its row', () => {
    const svg = svgOf(FOREST);
    const labels = textsOf(svg).filter((text) => ['Ada', 'Bo', 'Cy', 'Di'].includes(text ?? ''));
    expect(labels).toEqual(['Bo', 'Di', 'Ada']);
    expect(rowsOf(svg).sort()).toEqual(['0', '0', '1', '1', '3', '3']);
    const title = svg.querySelector('[data-mark=dot] [data-row="1"] title');
    expect(title?.textContent).toBe('breed_type: pony\ntoe regrowth (mm per 30 days): 9.0\nhorse: Bo');
  });

  it('keeps marks at the ends of an axis off its edge, and leaves lines on it', () => {
    const at = (svg: Element, name: string) =>
      Math.max(
        ...[...svg.querySelectorAll('[data-mark=rule] [data-row]')].map((m) => Number(m.getAttribute(name))),
      );
    const edge = Math.max(
      ...[...svgOf(FOREST).querySelectorAll('[data-mark="y-grid"] line')].map((m) =>
        Number(m.getAttribute('x2')),
      ),
    );
    expect(edge - at(svgOf(FOREST), 'x2')).toBeGreaterThan(5);
    const line = { mark: 'line', x: 'estimate', y: 'conf_low' };
    const dot = { mark: 'dot', x: 'estimate', y: 'conf_low' };
    const ends = (marks: object[]) => {
      const dots = [...svgOf({ data: 'r', marks }).querySelectorAll('[data-mark=dot] circle[data-row]')];
      return Math.max(...dots.map((m) => Number(m.getAttribute('cx'))));
    };
    expect(ends([line, dot]) - ends([dot])).toBeGreaterThan(5);
  });

  it('tells series apart by shape as well as by colour', () => {
    const svg = svgOf(FOREST);
    const dots = [...svg.querySelectorAll('[data-mark=dot]')].filter((group) =>
      group.querySelector('[data-row]'),
    );
    expect(dots.map((group) => group.getAttribute('fill'))).toEqual(['#0072B2', '#D55E00']);
    const shapes = dots.map((group) => {
      const mark = group.querySelector('[data-row]')!;
      return mark.tagName === 'circle' ? 'circle' : mark.getAttribute('d');
    });
    expect(new Set(shapes).size).toBe(2);
  });

  it('names lines at their ends, dashes them apart and breaks them at a gap', () => {
    const curve: ChartTable = {
      table: makeTable({
        t: numberColumn([30, 0, 60, 0, 30, 60]),
        s: numberColumn([0.2, 0, 0.4, 0, null, 0.1]),
        g: textColumn(['wet', 'wet', 'wet', 'dry', 'dry', 'dry']),
      }),
      columns: [],
    };
    const svg = svgOf(
      {
        data: 'r',
        marks: [{ mark: 'line', x: 't', y: 's', by: 'g' }],
        y: { format: 'percent', label: 'Share' },
      },
      { r: curve },
    );
    expect([...svg.querySelectorAll('[data-mark=series] text')].map((text) => text.textContent)).toEqual([
      'wet',
      'dry',
    ]);
    const lines = [...svg.querySelectorAll('[data-mark=line]')];
    expect(lines.map((line) => line.getAttribute('stroke-dasharray'))).toEqual([null, '7 3']);
    const moves = lines.map((line) => line.querySelector('path')!.getAttribute('d')!.match(/M/g)!.length);
    expect(moves).toEqual([1, 2]);
    expect(textsOf(svg)).toContain('40 %');
  });

  it('lays small multiples in a grid, each with its name, and repeats a constant in all', () => {
    const table: ChartTable = {
      table: makeTable({
        day: dayColumn([20000, 20040, 20000, 20040, 20000, 20040]),
        toe: numberColumn([80, 82, 81, 85, 79, 80]),
        foot: textColumn(['LF', 'LF', 'RF', 'RF', 'LH', 'LH']),
      }),
      columns: [],
    };
    const spec = {
      data: 'r',
      marks: [
        { mark: 'dot', x: 'day', y: 'toe' },
        { mark: 'rule', y: 83, label: 'limit' },
      ],
      facet: { by: 'foot', columns: 2 },
      x: { label: 'Visit' },
      y: { label: 'Toe', unit: 'mm' },
    };
    const texts = textsOf(svgOf(spec, { r: table }));
    expect(texts).toEqual(expect.arrayContaining(['LF', 'RF', 'LH', 'Toe (mm)', 'Visit']));
    expect(texts.filter((text) => text === 'limit')).toHaveLength(3);
    expect(texts.some((text) => /Oct/.test(text ?? ''))).toBe(true);
  });

  it('gives a labelled layer the same colour in the key as in the drawing', () => {
    const svg = svgOf({
      data: 'r',
      marks: [{ mark: 'dot', x: 'estimate', y: 'n_cycles', label: 'as counted', tone: 'warn' }],
    });
    const fills = [...svg.querySelectorAll('[data-mark=dot]')].map((group) => group.getAttribute('fill'));
    expect(fills).toEqual(['#D55E00', '#D55E00']);
    expect(textsOf(svg)).toContain('as counted');
  });

  it('shows a year without its number where months are asked for', () => {
    const table: ChartTable = {
      table: makeTable({ day: dayColumn([11323, 11400, 11687]), mm: numberColumn([7, 8, 7]) }),
      columns: [],
    };
    const spec = { data: 'r', marks: [{ mark: 'line', x: 'day', y: 'mm' }], x: { format: 'month' } };
    const texts = textsOf(svgOf(spec, { r: table }));
    expect(texts).toEqual(expect.arrayContaining(['Jan', 'Feb', 'Dec']));
    expect(texts.join(' ')).not.toContain('2001');
  });

  it('does not explain intervals twice', () => {
    expect(drawnOf(draw({ ...FOREST, caption: 'Lines are 95 % intervals.' })).caption).not.toContain(
      'Bars through',
    );
  });

  it('writes the names of many categories smaller, so that they do not run into one another', () => {
    const many: ChartTable = {
      table: makeTable({
        name: textColumn(Array.from({ length: 120 }, (_, at) => `H${at}`)),
        mm: numberColumn(Array.from({ length: 120 }, (_, at) => at)),
      }),
      columns: [],
    };
    const spec = { data: 'r', marks: [{ mark: 'dot', x: 'mm', y: 'name' }] };
    const labels = (chart: SVGSVGElement) => chart.querySelector('[data-mark="y-axis tick label"]')!;
    const tall = svgOf(spec, { r: many });
    expect(Number(labels(tall).getAttribute('font-size'))).toBeLessThan(
      Number(tall.getAttribute('height')) / 120,
    );
    expect(labels(svgOf(FOREST)).getAttribute('font-size')).toBe('12');
  });

  it('keeps a filter and the row numbers of the whole table', () => {
    const spec = {
      data: 'r',
      marks: [
        {
          mark: 'dot',
          x: 'estimate',
          y: 'horse_name',
          filter: { breed_type: ['pony'], n_cycles: { min: 10 } },
        },
      ],
    };
    expect(rowsOf(svgOf(spec))).toEqual(['3']);
  });

  it('leaves out what a log scale cannot hold, and says so', () => {
    const table: ChartTable = {
      table: makeTable({ a: numberColumn([0, 1, 100]), b: numberColumn([1, 2, 3]) }),
      columns: [],
    };
    const chart = drawnOf(
      draw({ data: 'r', marks: [{ mark: 'dot', x: 'a', y: 'b' }], x: { scale: 'log' } }, { r: table }),
    );
    expect(chart.caption).toContain('a log scale has no place for zero or less: 1.');
    expect(rowsOf(chart.svg).sort()).toEqual(['1', '2']);
  });

  it('writes text, never markup, from names in the data', () => {
    const table: ChartTable = {
      table: makeTable({ name: textColumn(['<script>alert(1)</script>']), a: numberColumn([1]) }),
      columns: [{ name: 'a', label: '<img src=x onerror=alert(1)>' }],
    };
    const svg = svgOf({ data: 'r', marks: [{ mark: 'dot', x: 'a', y: 'name', by: 'name' }] }, { r: table });
    expect(svg.querySelector('script, img')).toBeNull();
    expect(textsOf(svg)).toContain('<img src=x onerror=alert(1)>');
  });

  it('puts a sentence in place of an empty or an overfull drawing', () => {
    expect(
      draw({ ...FOREST, marks: [{ ...FOREST.marks[1], filter: { breed_type: 'mule' } }, FOREST.marks[2]] }),
    ).toEqual({
      sentence: 'There is nothing to draw: no row answers to this choice of horses and settings.',
    });
    const spec = { data: 'r', marks: [{ mark: 'dot', x: 'a', y: 'a' }] };
    const many = (n: number): ChartTable => ({
      table: makeTable({ a: numberColumn(Array.from({ length: n }, (_, at) => at)) }),
      columns: [],
    });
    expect(draw(spec, { r: many(MOST_MARKS + 1) })).toEqual({
      sentence: expect.stringContaining('5,001 marks'),
    });
    expect(draw(spec, { r: { ...many(1), table: makeTable({ a: numberColumn([null]) }) } })).toEqual({
      sentence: 'There is nothing to draw: in the one row a value that the chart needs is missing.',
    });
  });

  it('throws on a column that the data does not have', () => {
    expect(() => draw({ data: 'r', marks: [{ mark: 'dot', x: 'estimat', y: 'horse_name' }] })).toThrow(
      /chart must read columns that its data has \(horse_name, .*\): estimat/,
    );
  });
});
