/** Red, green and blue from 0 to 1, of `#rrggbb` or `rgb(r, g, b)`. Throws on any other way of writing. */
function partsOf(colour: string): number[] {
  const hex = /^#([\da-f]{2})([\da-f]{2})([\da-f]{2})$/i.exec(colour);
  if (hex) return hex.slice(1).map((part) => Number.parseInt(part, 16) / 255);
  const rgb = /^rgb\((\d+), ?(\d+), ?(\d+)\)$/.exec(colour);
  if (rgb) return rgb.slice(1).map((part) => Number(part) / 255);
  throw new Error(`colour must be written as #rrggbb or rgb(r, g, b): ${colour}`);
}

/** WCAG 2.2, definition of relative luminance. */
function luminance(colour: string): number {
  const [r, g, b] = partsOf(colour).map((part) =>
    part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4,
  );
  return 0.2126 * r! + 0.7152 * g! + 0.0722 * b!;
}

/** WCAG 2.2, contrast ratio, 1 to 21: words want 4.5, shapes 3. */
export function contrast(one: string, other: string): number {
  const [low, high] = [luminance(one), luminance(other)].sort((a, b) => a - b);
  return (high! + 0.05) / (low! + 0.05);
}
