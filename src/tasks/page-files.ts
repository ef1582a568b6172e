import { readFile } from 'node:fs/promises';
import type { Plugin } from 'vite';

/** Lets `page.md?page` be imported as what `read` makes of its text, with the text. */
export function pageFiles(read: (text: string) => object): Plugin {
  return {
    name: 'growout-page-files',
    enforce: 'pre',
    async load(id) {
      const path = /^(.*\.md)\?page$/.exec(id)?.[1];
      if (!path) return null;
      this.addWatchFile(path);
      const text = await readFile(path, 'utf8');
      return {
        code: `export default ${JSON.stringify({ text, ...read(text) })};`,
        map: null,
        moduleType: 'js',
      };
    },
  };
}
