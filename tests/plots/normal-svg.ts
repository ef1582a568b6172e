/** An SVG as indented lines with rounded numbers and without ids that count up: stable, and readable in a diff. */
export function normalSvg(svg: Element): string {
  const lines: string[] = [];
  const rounded = (text: string) =>
    text.replace(/-?\d+\.\d+/g, (value) => String(Number(Number(value).toFixed(1))));
  const walk = (element: Element, depth: number): void => {
    if (element.tagName === 'style') return;
    const attributes = [...element.attributes]
      .filter(({ name }) => !['class', 'xmlns', 'xmlns:xlink', 'style'].includes(name))
      .map(({ name, value }) => ` ${name}="${rounded(value).replace(/hatch-\d+-/, 'hatch-')}"`)
      .join('');
    const text = element.children.length === 0 ? (element.textContent ?? '').replaceAll('\n', ' | ') : '';
    lines.push(`${'  '.repeat(depth)}<${element.tagName}${attributes}>${text}`);
    for (const child of element.children) walk(child, depth + 1);
  };
  walk(svg, 0);
  return lines.join('\n');
}
