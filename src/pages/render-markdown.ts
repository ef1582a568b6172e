import DOMPurify from 'dompurify';
import markdownIt from 'markdown-it';
import { markdownHtml } from './markdown-html.ts';

/** The program's own method texts have tables, and their links lead to other files of the source: words stand there. */
const methods = markdownIt('commonmark', { html: false }).enable('table');
methods.renderer.rules.link_open = () => '';
methods.renderer.rules.link_close = () => '';

/** A method's text as HTML, without its heading. Needs a DOM. */
export function renderMethod(text: string): string {
  return DOMPurify.sanitize(methods.render(text.replace(/^# .*\n/, '')), {
    USE_PROFILES: { html: true },
    FORBID_ATTR: ['style', 'id', 'name'],
  });
}

/** CommonMark as HTML that holds no script, no form and no picture. Needs a DOM. */
export function renderMarkdown(text: string): string {
  return DOMPurify.sanitize(markdownHtml(text), {
    USE_PROFILES: { html: true },
    FORBID_TAGS: [
      'style',
      'form',
      'input',
      'button',
      'img',
      'picture',
      'video',
      'audio',
      'source',
      'svg',
      'math',
    ],
    FORBID_ATTR: ['style', 'id', 'name'],
    ADD_ATTR: ['target'],
  });
}
