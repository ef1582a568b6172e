import DOMPurify from 'dompurify';
import markdownIt from 'markdown-it';

/** Web addresses and places in this app. Other schemes, and addresses that leave their scheme open, are not links. */
export function isSafeLink(address: string): boolean {
  const text = address.trim().toLowerCase();
  if (text.startsWith('//') || text.startsWith('\\')) return false;
  return /^https?:\/\//.test(text) || !/^[^/?#]*:/.test(text);
}

const markdown = markdownIt('commonmark', { html: false });
markdown.validateLink = isSafeLink;
// A picture could only come from elsewhere, and nothing is fetched: its description stands in its place.
markdown.renderer.rules.image = (tokens, at) => markdown.utils.escapeHtml(tokens[at]?.content ?? '');
markdown.renderer.rules.link_open = (tokens, at, options, _env, self) => {
  const token = tokens[at]!;
  if (/^https?:/i.test(String(token.attrGet('href')))) {
    token.attrSet('target', '_blank');
    token.attrSet('rel', 'noopener noreferrer');
  }
  return self.renderToken(tokens, at, options);
};

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
  return DOMPurify.sanitize(markdown.render(text), {
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
