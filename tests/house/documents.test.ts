import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { generatedDocuments } from '../../src/tasks/documents/generated.ts';
import { sourceFiles } from '../../src/tasks/documents/imports.ts';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const read = (path: string): string => readFileSync(join(ROOT, path), 'utf8');
const DOCUMENTS = [
  'README.md',
  'DEVELOPERS.md',
  'data/README.md',
  ...readdirSync(join(ROOT, 'docs'), { recursive: true })
    .map((path) => join('docs', String(path)))
    .filter((path) => path.endsWith('.md'))
    .sort(),
];
const packageJson = JSON.parse(read('package.json')) as {
  scripts: Record<string, string>;
  dependencies: Record<string, string>;
  devDependencies: Record<string, string>;
};

describe('the documents', () => {
  it.each(DOCUMENTS)('%s points only to what is there', (path) => {
    const links = [...read(path).matchAll(/\]\(([^)\s]+)\)/g)].map((match) => match[1] ?? '');
    const missing = links
      .filter((link) => !/^(https?:|#)/.test(link))
      .filter((link) => !existsSync(join(ROOT, dirname(path), link.split('#')[0] ?? '')));
    expect(missing).toEqual([]);
  });

  it.each(DOCUMENTS)('%s names only files and commands that are there', (path) => {
    const text = read(path);
    const named = [...text.matchAll(/`((?:src|tests|data|notebooks|docs)\/[\w./-]+)`/g)].map(
      (match) => match[1] ?? '',
    );
    const written = named.filter((name) => !name.includes('*'));
    expect(
      written.filter((name) => !existsSync(join(ROOT, name)) && !name.startsWith('data/generated')),
    ).toEqual([]);
    const commands = [...text.matchAll(/npm run (?:--silent )?([\w-]+)/g)].map((match) => match[1] ?? '');
    expect(commands.filter((command) => !(command in packageJson.scripts))).toEqual([]);
  });

  it.each(Object.entries(generatedDocuments()))('%s is as the code makes it', (path, text) => {
    expect(read(path) === text, `${path} has drifted: npm run documents`).toBe(true);
  });

  it('give every dependency its reason, and no other', () => {
    const told = [...read('docs/dependencies.md').matchAll(/^\| (`[^|]+`) \|/gm)].flatMap((row) =>
      [...(row[1] ?? '').matchAll(/`([^`]+)`/g)].map((match) => match[1] ?? ''),
    );
    const used = [...Object.keys(packageJson.dependencies), ...Object.keys(packageJson.devDependencies)];
    expect([...told].sort()).toEqual([...used].sort());
  });

  it('hold every method that an analysis names, and lead to it', () => {
    const named = sourceFiles('src/analyses').flatMap(({ text }) =>
      [...text.matchAll(/'(docs\/methods\/[\w-]+\.md)'/g)].map((match) => match[1] ?? ''),
    );
    expect(named.length).toBeGreaterThan(2);
    expect(named.filter((path) => !existsSync(join(ROOT, path)))).toEqual([]);
    const index = read('docs/README.md');
    const methods = readdirSync(join(ROOT, 'docs/methods'));
    expect(methods.filter((name) => !index.includes(`(methods/${name})`))).toEqual([]);
  });
});
