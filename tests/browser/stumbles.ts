/** px: the least that can be hit (WCAG 2.2, 2.5.8), and what a finger wants of main controls (2.5.5). */
export const LEAST_TARGET = 24;
export const FINGER_TARGET = 44;

/**
 * What on the screen as it stands somebody would stumble over, a sentence each. It runs in the page, so it may use
 * nothing from outside. `finger` in px asks more of main controls; 0 asks nothing.
 */
export function stumbles({ least, finger }: { readonly least: number; readonly finger: number }): string[] {
  const found: string[] = [];
  const isSeen = (element: Element) => {
    const { width, height } = element.getBoundingClientRect();
    return width > 1 && height > 1 && element.checkVisibility({ visibilityProperty: true });
  };
  const nameOf = (element: Element) => {
    const words = (element.getAttribute('aria-label') ?? element.textContent ?? '').trim().slice(0, 40);
    const entry = element.closest<HTMLElement>('[data-entry]')?.dataset.entry;
    return `${element.tagName.toLowerCase()}.${element.getAttribute('class') ?? ''} “${words}” ${entry ? `in ${entry}` : ''}`;
  };

  const { scrollWidth, clientWidth } = document.documentElement;
  if (scrollWidth > clientWidth) {
    const wide = [...document.querySelectorAll('body *')].filter(
      (each) =>
        each.getBoundingClientRect().right > clientWidth + 1 &&
        !each.closest('.table-scroll, .grid-scroll, .scroll, pre'),
    );
    found.push(`the page scrolls sideways, ${scrollWidth} px: ${wide.slice(-3).map(nameOf).join('; ')}`);
  }

  for (const target of document.querySelectorAll(
    'a[href], button, select, input, textarea, summary, [role=option]',
  )) {
    // A file input is hidden in its label; a box or a circle is hit by its label too.
    const label = target.closest('label');
    const hit = target.matches('input') && label ? label : target;
    if (!isSeen(hit)) continue;
    // A link in a sentence is as high as its line (2.5.8, exception for words in a line).
    if (target.matches('a') && target.closest('p, li, dd, td')?.matches('.page-text *')) continue;
    const { width, height } = hit.getBoundingClientRect();
    if (width < least - 0.5 || height < least - 0.5)
      found.push(`too small to hit, ${Math.round(width)} × ${Math.round(height)} px: ${nameOf(target)}`);
    else if (
      finger > 0 &&
      height < finger - 0.5 &&
      target.matches('.button, .contents a, .choice select, .finding button')
    )
      found.push(`too small for a finger, ${Math.round(height)} px high: ${nameOf(target)}`);
  }

  for (const figure of document.querySelectorAll('.chart-figure')) {
    const svg = figure.querySelector('.chart-frame svg');
    if (!svg) continue;
    if (svg.getAttribute('role') !== 'img' || !svg.getAttribute('aria-label'))
      found.push(`a drawing without words for those who do not see it: ${nameOf(figure)}`);
    const tables = [...figure.querySelectorAll('details.chart-table table')];
    if (tables.length === 0) found.push(`no table behind the drawing: ${nameOf(figure)}`);
    if (!svg.checkVisibility()) continue;
    const frame = svg.getBoundingClientRect();
    for (const text of svg.querySelectorAll('text')) {
      const { left, right, top, bottom, width } = text.getBoundingClientRect();
      // The last figure of an axis may stand half over the edge: there is padding around the drawing.
      const over = Math.max(frame.left - left, right - frame.right, frame.top - top, bottom - frame.bottom);
      if (width > 0 && over > 8)
        found.push(`words cut by ${Math.round(over)} px: “${text.textContent}” ${nameOf(figure)}`);
    }
  }
  for (const table of document.querySelectorAll('main table')) {
    if (!table.querySelector('caption')?.textContent?.trim() && !table.getAttribute('aria-label'))
      found.push(`a table without a caption: ${nameOf(table)}`);
    if (!table.querySelector('th[scope]'))
      found.push(`a table whose headings say not what they head: ${nameOf(table)}`);
  }
  return found;
}
