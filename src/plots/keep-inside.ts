import { textWidth } from '../core/text-width.ts';

const shiftOf = (element: Element): number =>
  Number(/translate\((-?[\d.e+-]+)/.exec(element.getAttribute('transform') ?? '')?.[1] ?? 0);

/** Of a text, the share of its width that lies left of its anchor. */
const BEFORE: Readonly<Record<string, number>> = { start: 0, middle: 0.5, end: 1 };

/** What the drawing itself states is the library's own and is overridden by its style. */
function inherited(element: Element, name: string, fallback: string): string {
  return element.closest(`[${name}]:not(svg)`)?.getAttribute(name) ?? fallback;
}

/** The width of its widest line, without the words that show when a pointer rests on it. */
function widthOf(text: Element, size: number): number {
  const lines = [...text.childNodes].filter(({ nodeName }) => nodeName !== 'title');
  return Math.max(0, ...lines.map((line) => textWidth(line.textContent ?? '', size)));
}

/** Moves words that would be cut at the left or right edge of a drawing inside: the name of a line near its end. */
export function keepInside(svg: SVGSVGElement, width: number): void {
  for (const text of svg.querySelectorAll<SVGTextElement>('[aria-label="text"] text')) {
    let anchor = 0;
    for (let each: Element | null = text; each && each !== svg; each = each.parentElement)
      anchor += shiftOf(each);
    const size = Number.parseFloat(inherited(text, 'font-size', '12'));
    const wide = widthOf(text, size);
    const left = anchor - wide * (BEFORE[inherited(text, 'text-anchor', 'middle')] ?? 0.5);
    const over = left + wide - width;
    const by = over > 0 ? -Math.min(over, left) : Math.max(0, -left);
    if (Math.abs(by) < 1 || wide > width) continue;
    text.setAttribute('dx', String(Math.round(by)));
  }
}
