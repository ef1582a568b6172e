import markdownIt from 'markdown-it';

/** Web addresses and places in this app. Other schemes, and addresses that leave their scheme open, are not links. */
function isSafeLink(address: string): boolean {
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

/** CommonMark as HTML. What stands in it as HTML comes out as words; a text of someone else's is sanitised all the same. */
export function markdownHtml(text: string): string {
  return markdown.render(text);
}
