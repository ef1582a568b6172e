import { textWidth } from '../core/text-width.ts';

/** Where a text of a drawing lies, px: its left and right edge and the middle of its height. */
export interface TextBox {
  readonly left: number;
  readonly right: number;
  readonly middle: number;
  readonly size: number;
}

/** Of a text, the share of its width that lies left of its anchor. */
const BEFORE: Readonly<Record<string, number>> = { start: 0, middle: 0.5, end: 1 };

const shiftOf = (element: Element): readonly [number, number] => {
  const found = /translate\((-?[\d.e+-]+)[, ]+(-?[\d.e+-]+)/.exec(element.getAttribute('transform') ?? '');
  return [Number(found?.[1] ?? 0), Number(found?.[2] ?? 0)];
};

/** What the drawing itself states is the library's own and is overridden by its style. */
function inherited(element: Element, name: string, fallback: string): string {
  return element.closest(`[${name}]:not(svg)`)?.getAttribute(name) ?? fallback;
}

/** The width of its widest line, without the words that show when a pointer rests on it. */
function widthOf(text: Element, size: number): number {
  const lines = [...text.childNodes].filter(({ nodeName }) => nodeName !== 'title');
  return Math.max(0, ...lines.map((line) => textWidth(line.textContent ?? '', size)));
}

/** The place of a text, reckoned from its anchor: a drawing that nobody has looked at yet cannot be measured. */
export function boxOf(text: Element, svg: SVGSVGElement): TextBox {
  let [x, y] = [Number(text.getAttribute('dx') ?? 0), 0];
  for (let each: Element | null = text; each && each !== svg; each = each.parentElement) {
    const [right, down] = shiftOf(each);
    x += right;
    y += down;
  }
  const size = Number.parseFloat(inherited(text, 'font-size', '12'));
  const width = widthOf(text, size);
  const left = x - width * (BEFORE[inherited(text, 'text-anchor', 'middle')] ?? 0.5);
  return { left, right: left + width, middle: y, size };
}
