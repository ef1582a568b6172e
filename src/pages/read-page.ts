import { markdownHtml } from './markdown-html.ts';
import type { Page } from './page.ts';
import { parsePage } from './parse-page.ts';

/** A page read ahead of time, as plain data. */
export interface ReadPage {
  readonly page: Page;
  /** Its stretches of text as HTML, by the line where each begins. Of our own texts only: it is not sanitised. */
  readonly html: Readonly<Record<number, string>>;
}

/** Reads a page of the program while it is built: the browser then shows it before it has what reads pages. */
export function readPage(text: string): ReadPage {
  const page = parsePage(text);
  const texts = page.blocks.filter((block) => block.type === 'text');
  return {
    page,
    html: Object.fromEntries(texts.map(({ line, markdown }) => [line, markdownHtml(markdown)])),
  };
}
