// @vitest-environment jsdom
import { expect, it } from 'vitest';
import { makeTable, numberColumn, textColumn } from '../../src/core/table.ts';
import { textWidth } from '../../src/core/text-width.ts';
import { chartSpec } from '../../src/plots/chart-spec.ts';
import { drawChart } from '../../src/plots/draw-chart.ts';

const spec = chartSpec.parse({
  data: 'r',
  marks: [
    { mark: 'dot', x: 'weeks', y: 'wet' },
    { mark: 'text', x: 'weeks', y: 'wet', text: 'yard' },
  ],
});

/** The names of points and where the drawing puts them: left, right and middle, px. */
function placed(weeks: number[], wet: number[], yards: string[], width: number) {
  const table = makeTable({ weeks: numberColumn(weeks), wet: numberColumn(wet), yard: textColumn(yards) });
  const chart = drawChart(spec, { r: { table, columns: [] } }, { width, theme: 'light' });
  if (!('svg' in chart)) throw new Error(chart.sentence);
  return [...chart.svg.querySelectorAll('[data-mark="text"] text[data-row]')].map((text) => {
    const [x, y] = [0, 0].map((_, way) =>
      [text, text.parentElement!]
        .flatMap((each) => [
          ...(each.getAttribute('transform') ?? '').matchAll(/translate\(([-\d.]+)[, ]+([-\d.]+)\)/g),
        ])
        .reduce((sum, found) => sum + Number(found[way + 1]), 0),
    ) as [number, number];
    const half = textWidth(text.childNodes[0]?.textContent ?? '') / 2;
    const at = x + Number(text.getAttribute('dx') ?? 0);
    return { left: at - half, right: at + half, y };
  });
}

const overlaps = (boxes: ReturnType<typeof placed>) =>
  boxes.flatMap((a, i) =>
    boxes.slice(i + 1).filter((b) => a.left < b.right && b.left < a.right && Math.abs(a.y - b.y) < 11),
  ).length;

it('names of points that lie close together do not cover each other', () => {
  const boxes = placed(
    [6, 6.05, 6.1, 9],
    [0.1, 0.1, 0.1, 0.5],
    ['Pebblewick', 'Coombe', 'Hollinbar', 'Far'],
    600,
  );
  expect(boxes).toHaveLength(4);
  expect(overlaps(boxes)).toBe(0);
});

it('names that have room stay above their points', () => {
  const near = placed([4, 9], [0.1, 0.1], ['One', 'Two'], 600);
  expect(near[0]!.y).toBe(near[1]!.y);
});
