import { boxOf, type TextBox } from './text-box.ts';

/** px between a point and the middle of its name: above it as drawn, else below, else a line further off. */
const ABOVE = 10;
const STEPS = [0, 2 * ABOVE + 1, -13, 2 * ABOVE + 14];

const touches = (a: TextBox, b: TextBox): boolean =>
  a.left < b.right + 2 && b.left < a.right + 2 && Math.abs(a.middle - b.middle) < (a.size + b.size) / 2;

/** Moves the names of points that would lie on one another apart, up or down; where no place is free a name stays. */
export function keepApart(svg: SVGSVGElement): void {
  const placed: TextBox[] = [];
  for (const text of svg.querySelectorAll<SVGTextElement>('[aria-label="text"] text[data-row]')) {
    const box = boxOf(text, svg);
    const at = (by: number): TextBox => ({ ...box, middle: box.middle + by });
    const by = STEPS.find((step) => !placed.some((other) => touches(at(step), other))) ?? 0;
    if (by !== 0)
      text.setAttribute('transform', `${text.getAttribute('transform') ?? ''} translate(0,${by})`.trim());
    placed.push(at(by));
  }
}
