import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { basename, dirname, join, normalize } from 'node:path';
import { ROOT } from './imports.ts';
import { anchorsOf, type Document, inlineCode, linksOf, partsOf } from './markdown.ts';

/** Folders whose files a document may name in code. */
const NAMED = /^(?:src|tests|data|notebooks|docs)\/[\w./*-]+$/;
/** A file of code named without its folder. */
const ALONE = /^[\w-]+(?:\.test|\.spec)?\.(?:tsx?|mjs|R)$/;
/** Made while the program is used, and not kept with it. */
const MADE = 'data/generated';

/** Links to documents, headings, pictures and files that are not there, and files named in code that are not. */
export function linkFaults({ path, text }: Document): string[] {
  const { prose } = partsOf(text);
  const links = linksOf(prose)
    .filter((link) => !/^https?:/.test(link))
    .flatMap((link) => linkFault(path, text, link));
  const files = inlineCode(prose)
    .filter((name) =>
      ALONE.test(name)
        ? !namesOfFiles().has(name)
        : NAMED.test(name) && !/\*/.test(name) && !name.startsWith(MADE) && !existsSync(join(ROOT, name)),
    )
    .map((name) => `${path} names ${name}, which is not there`);
  return [...links, ...files];
}

function linkFault(path: string, text: string, link: string): string[] {
  const [file = '', anchor] = link.split('#');
  const target = file === '' ? path : normalize(join(dirname(path), file));
  if (file !== '' && !existsSync(join(ROOT, target))) return [`${path} leads to ${link}, which is not there`];
  if (anchor === undefined) return [];
  const there = anchorsOf(file === '' ? text : readFileSync(join(ROOT, target), 'utf8'));
  return there.has(anchor) ? [] : [`${path} leads to ${link}, a heading that is not there`];
}

let names: Set<string> | null = null;
function namesOfFiles(): Set<string> {
  names ??= new Set(
    ['src', 'tests', 'data'].flatMap((folder) =>
      readdirSync(join(ROOT, folder), { recursive: true }).map((path) => basename(String(path))),
    ),
  );
  return names;
}
