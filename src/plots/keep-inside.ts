import { boxOf } from './text-box.ts';

/** Moves words that would be cut at the left or right edge of a drawing inside: the name of a line near its end. */
export function keepInside(svg: SVGSVGElement, width: number): void {
  for (const text of svg.querySelectorAll<SVGTextElement>('[aria-label="text"] text')) {
    const { left, right } = boxOf(text, svg);
    const over = right - width;
    const by = over > 0 ? -Math.min(over, left) : Math.max(0, -left);
    if (Math.abs(by) < 1 || right - left > width) continue;
    text.setAttribute('dx', String(Math.round(by)));
  }
}
