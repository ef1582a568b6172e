import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { documentFaults } from '../../src/tasks/documents/faults.ts';
import { generatedDocuments } from '../../src/tasks/documents/generated.ts';
import { sourceFiles } from '../../src/tasks/documents/imports.ts';
import { documents } from '../../src/tasks/documents/markdown.ts';
import { measuredDocuments } from '../bench/documents.ts';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const read = (path: string): string => readFileSync(join(ROOT, path), 'utf8');
const packageJson = JSON.parse(read('package.json')) as {
  scripts: Record<string, string>;
  dependencies: Record<string, string>;
  devDependencies: Record<string, string>;
};

describe('the documents', () => {
  it('name only files, headings, commands and options that are there, and figures as their sources have them', () => {
    expect(documentFaults()).toEqual([]);
  });

  it.each(Object.entries(generatedDocuments()))('%s is as the code makes it', (path, text) => {
    expect(read(path) === text, `${path} has drifted: npm run documents`).toBe(true);
  });

  it.each(Object.entries(measuredDocuments()))('%s has the figures that were measured', (path, text) => {
    expect(read(path) === text, `${path} has drifted: npm run bench -- --only ''`).toBe(true);
  });

  it('are each named in the index', () => {
    const index = read('docs/README.md');
    const others = documents()
      .map(({ path }) => /^docs\/([\w-]+\.md)$/.exec(path)?.[1])
      .filter((name) => name !== undefined && name !== 'README.md');
    expect(others.length).toBeGreaterThan(10);
    expect(others.filter((name) => !index.includes(`(${name})`))).toEqual([]);
  });

  it('tell whoever changes something of every script, and whoever reads of every page', () => {
    const told = new Set(
      [...read('DEVELOPERS.md').matchAll(/npm (?:run )?([\w-]+)/g)].map((match) => match[1]),
    );
    expect(Object.keys(packageJson.scripts).filter((name) => !told.has(name))).toEqual([]);
    const titles = readdirSync(join(ROOT, 'notebooks')).map(
      (name) => /^title: (.*)$/m.exec(read(join('notebooks', name)))?.[1] ?? name,
    );
    expect(titles.filter((title) => !read('README.md').includes(`\n| ${title} |`))).toEqual([]);
  });

  it('are guides that can be read at a sitting', () => {
    const long = documents().filter(
      ({ path, text }) => path.startsWith('docs/guide-') && text.split('\n').length > 151,
    );
    expect(long.map(({ path }) => path)).toEqual([]);
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
