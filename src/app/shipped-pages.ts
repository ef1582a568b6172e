import type { Page } from '../pages/page.ts';
import { parsePage } from '../pages/parse-page.ts';

export interface ShippedPage {
  readonly id: string;
  readonly text: string;
  readonly page: Page;
}

const texts = import.meta.glob<string>('../../notebooks/*.md', {
  query: '?raw',
  import: 'default',
  eager: true,
});

/** The pages that come with the program, in reading order. */
export function shippedPages(): ShippedPage[] {
  return Object.entries(texts)
    .map(([path, text]) => ({ id: path.replace(/^.*\/|\.md$/g, ''), text, page: parsePage(text) }))
    .sort((a, b) => a.page.front.order - b.page.front.order);
}
