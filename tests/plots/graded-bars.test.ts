// @vitest-environment jsdom
import { describe, expect, it } from 'vitest';
import { dayColumn, makeTable, numberColumn, textColumn } from '../../src/core/table.ts';
import type { ChartTable } from '../../src/plots/chart-data.ts';
import { chartSpec } from '../../src/plots/chart-spec.ts';
import { drawChart } from '../../src/plots/draw-chart.ts';

/** Three stretches of one row: 100 days of grade 0, 100 of grade 1, 1 day of grade 3. */
const STRIPS: ChartTable = {
  table: makeTable({
    problem: textColumn(['Crack', 'Crack', 'Crack']),
    from: dayColumn([20_000, 20_100, 20_200]),
    to: dayColumn([20_100, 20_200, 20_201]),
    grade: numberColumn([0, 1, 3]),
    mark: textColumn(['0', '1', '3']),
    n_visits: numberColumn([3, 2, 1]),
  }),
  columns: [{ name: 'grade', label: 'Grade', digits: 0 }],
  counts: { horses: 1, feet: 1, cycles: 9 },
};

const BAR = { mark: 'bar', x1: 'from', x2: 'to', y: 'problem', fill: 'grade', text: 'mark' };
function drawn(mark: object, spec: object = {}) {
  const chart = drawChart(
    chartSpec.parse({ data: 's', marks: [{ ...BAR, ...mark }], x: { scale: 'date' }, ...spec }),
    { s: STRIPS },
    { width: 600, theme: 'light' },
  );
  if (!('svg' in chart)) throw new Error(chart.sentence);
  const bars = [...chart.svg.querySelectorAll('rect[data-row]')];
  return { ...chart, fills: bars.map((bar) => bar.getAttribute('fill')), bars };
}

describe('bars that show a grade', () => {
  it('are the darker the higher the grade, within the range stated', () => {
    const least = drawn({ filter: { grade: { max: 1 } } });
    const stated = drawn({ filter: { grade: { max: 1 } }, range: [0, 3] });
    // Without a range grade 1 is the most there is, and as dark as can be.
    expect(least.fills[1]).toBe('rgb(0, 114, 178)');
    expect(stated.fills[0]).toBe(least.fills[0]);
    expect(stated.fills[1]).not.toBe(least.fills[1]);
    expect(drawn({ range: [0, 3] }).fills[2]).toBe('rgb(0, 114, 178)');
  });

  it('bear their text where it fits, light on dark', () => {
    const { bars } = drawn({ range: [0, 3] });
    const texts = bars.map((bar) =>
      bar.nextElementSibling?.tagName === 'text' ? bar.nextElementSibling : null,
    );
    expect(texts.map((text) => text?.textContent ?? null)).toEqual(['0', '1', null]);
    const dark = drawn({ range: [-9, 1] }).bars[1]!.nextElementSibling;
    expect(dark?.getAttribute('fill')).not.toBe(texts[1]?.getAttribute('fill'));
  });

  it('are counted in foot visits, not in trim cycles', () => {
    expect(drawn({}).caption).toBe('n behind each value: 1 to 3 foot visits.');
  });

  it('leave the room that the page asks for beside the axis', () => {
    const left = (room: number) => Number(drawn({}, { y: { label: '', room } }).bars[0]!.getAttribute('x'));
    expect(left(160) - left(60)).toBeCloseTo(100, 6);
  });
});
