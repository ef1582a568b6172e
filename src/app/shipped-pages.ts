import type { Page } from '../pages/page.ts';
import type { ReadPage } from '../pages/read-page.ts';

export interface ShippedPage {
  readonly id: string;
  readonly text: string;
  readonly page: Page;
  /** Its texts, by the line where each begins; only of pages that come with the program. */
  readonly html?: ReadPage['html'];
}

// Read while the program is built (`src/tasks/page-files.ts`).
const pages = import.meta.glob<ReadPage & { readonly text: string }>('../../notebooks/*.md', {
  query: '?page',
  import: 'default',
  eager: true,
});

/** The pages that come with the program, in reading order. */
export function shippedPages(): ShippedPage[] {
  return Object.entries(pages)
    .map(([path, read]) => ({ id: path.replace(/^.*\/|\.md$/g, ''), ...read }))
    .sort((a, b) => a.page.front.order - b.page.front.order);
}
