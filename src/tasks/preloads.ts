import type { Plugin } from 'vite';

/** What the document needs to know of a built file. */
export interface BuiltFile {
  readonly type: 'chunk' | 'asset';
  readonly fileName: string;
  readonly imports?: readonly string[];
  readonly dynamicImports?: readonly string[];
}

interface Preloads {
  /** Fetched beside the first script, which would ask for them only once it had arrived. */
  readonly early: readonly string[];
  /** Fetched when all is at rest. */
  readonly later: readonly string[];
}

/** Parts the built scripts: what the first script asks for at once, and the rest. `workers` are asked for at once, too. */
export function preloadsOf(
  entry: string,
  files: Readonly<Record<string, BuiltFile>>,
  workers: RegExp,
): Preloads {
  const early = new Set<string>();
  const add = (name: string): void => {
    if (name === entry || early.has(name)) return;
    early.add(name);
    files[name]?.imports?.forEach(add);
  };
  for (const name of [...(files[entry]?.imports ?? []), ...(files[entry]?.dynamicImports ?? [])]) add(name);
  const all = Object.values(files);
  for (const { fileName } of all) if (workers.test(fileName)) early.add(fileName);
  const later = all.filter(
    ({ type, fileName }) => type === 'chunk' && fileName !== entry && !early.has(fileName),
  );
  return { early: [...early], later: later.map(({ fileName }) => fileName) };
}

/**
 * Names the scripts in the document's head, so that no script waits for another to be read: the early ones are
 * preloaded; those for later are only named, for `src/app/rest.ts`.
 */
export function preloads(workers: RegExp): Plugin {
  return {
    name: 'growout-preloads',
    transformIndexHtml: {
      order: 'post',
      handler(html, { bundle, chunk }) {
        if (!bundle || !chunk) return html;
        const { early, later } = preloadsOf(chunk.fileName, bundle, workers);
        const addresses = later.map((name) => `./${name}`);
        return [
          ...early
            .filter((name) => !html.includes(`href="./${name}"`))
            .map((name) => ({ tag: 'link', attrs: { rel: 'modulepreload', href: `./${name}` } })),
          { tag: 'meta', attrs: { name: 'scripts-for-later', content: addresses.join(' ') } },
        ].map((tag) => ({ ...tag, injectTo: 'head' as const }));
      },
    },
  };
}
