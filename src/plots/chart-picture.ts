import { wrapped } from '../core/text-width.ts';
import type { ChartTable } from './chart-data.ts';
import type { ChartSpec } from './chart-spec.ts';
import { drawChart } from './draw-chart.ts';
import { inksOf } from './palette.ts';

const WIDTH = 760;
const EDGE = 20;
const NAMESPACE = 'http://www.w3.org/2000/svg';

export interface Picture {
  /** A file of its own: SVG 1.1 with title, drawing and caption. */
  readonly svg: string;
  readonly width: number;
  readonly height: number;
}

function element(
  name: string,
  attributes: Readonly<Record<string, string | number>>,
  text?: string,
): SVGElement {
  const made = document.createElementNS(NAMESPACE, name) as SVGElement;
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  if (text !== undefined) made.textContent = text;
  return made;
}

/** A chart as a picture that stands alone, on white paper, with its caption. Throws with the sentence where there is nothing to draw. */
export function chartPicture(
  spec: ChartSpec,
  tables: Readonly<Record<string, ChartTable>>,
  { before = '' }: { readonly before?: string } = {},
): Picture {
  const inner = WIDTH - 2 * EDGE;
  const chart = drawChart(spec, tables, { width: inner, theme: 'light' });
  if ('sentence' in chart) throw new Error(chart.sentence);
  const { ink, soft, paper } = inksOf('light');
  const title = wrapped(spec.title ?? '', inner, 16);
  const caption = wrapped([before, chart.caption].filter(Boolean).join(' '), inner, 12);
  const top = EDGE + title.length * 22;
  const drawn = Number(chart.svg.getAttribute('height'));
  const height = Math.ceil(top + drawn + 12 + caption.length * 17 + EDGE);
  const root = element('svg', {
    xmlns: NAMESPACE,
    width: WIDTH,
    height,
    viewBox: `0 0 ${WIDTH} ${height}`,
    'font-family': 'system-ui, "Noto Sans", sans-serif',
    role: 'img',
    'aria-label': chart.svg.getAttribute('aria-label') ?? '',
  });
  root.append(element('rect', { width: WIDTH, height, fill: paper }));
  title.forEach((line, at) => {
    root.append(
      element(
        'text',
        { x: EDGE, y: EDGE + 14 + at * 22, 'font-size': 16, 'font-weight': 600, fill: ink },
        line,
      ),
    );
  });
  chart.svg.setAttribute('x', String(EDGE));
  chart.svg.setAttribute('y', String(top));
  chart.svg.removeAttribute('role');
  chart.svg.removeAttribute('aria-label');
  root.append(chart.svg);
  caption.forEach((line, at) => {
    root.append(
      element('text', { x: EDGE, y: top + drawn + 24 + at * 17, 'font-size': 12, fill: soft }, line),
    );
  });
  return { svg: new XMLSerializer().serializeToString(root), width: WIDTH, height };
}
