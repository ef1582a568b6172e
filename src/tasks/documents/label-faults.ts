import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT } from './imports.ts';
import type { Document } from './markdown.ts';

const plain = (text: string): string => text.replaceAll(/\s+/g, ' ');

/** Words that a guide gives in bold, as standing on the screen, and that stand in no source and on no page. */
export function labelFaults({ path, text }: Document): string[] {
  if (!/(^|\/)guide-[\w-]+\.md$/.test(path)) return [];
  return [...text.matchAll(/\*\*([^*]+)\*\*/g)]
    .map((match) => plain(match[1] ?? ''))
    .filter((label) => !onScreen().includes(label))
    .map((label) => `${path} gives “${label}” as standing on the screen, and it does not`);
}

let screen: string | null = null;
function onScreen(): string {
  screen ??= plain(
    ['src', 'notebooks']
      .flatMap((folder) =>
        readdirSync(join(ROOT, folder), { recursive: true }).map((name) => join(folder, String(name))),
      )
      .filter((path) => /\.(tsx?|mjs|md)$/.test(path))
      .map((path) => readFileSync(join(ROOT, path), 'utf8'))
      .join('\n'),
  );
  return screen;
}
