import { describe, expect, it } from 'vitest';
import {
  findRing,
  houseOf,
  importsOf,
  reachedFrom,
  type SourceFile,
  sourceFile,
  sourceFiles,
} from '../../src/tasks/documents/imports.ts';
import { namesTaken, needlessExports } from './exports.ts';

/** Which folders of `src` each may import from: one direction, from the plain to the whole. */
const MAY_IMPORT: Readonly<Record<string, readonly string[]>> = {
  core: [],
  herd: ['core'],
  stats: ['core'],
  engine: ['core'],
  intake: ['core', 'herd', 'engine'],
  analyses: ['core', 'herd', 'stats', 'engine'],
  plots: ['core', 'analyses'],
  sheet: ['core', 'herd', 'engine'],
  pages: ['core', 'herd', 'stats', 'engine', 'intake', 'analyses', 'plots', 'sheet'],
  app: ['core', 'herd', 'stats', 'engine', 'intake', 'analyses', 'plots', 'sheet', 'pages'],
  batch: ['core', 'herd', 'engine', 'intake', 'analyses'],
  tasks: ['herd'],
};

/** Which packages the code of each folder may use. */
const MAY_USE: Readonly<Record<string, RegExp>> = {
  core: /^$/,
  herd: /^zod$/,
  stats: /^(@stdlib\/.*|ml-matrix|pure-rand)$/,
  engine: /^(@duckdb\/(duckdb-wasm|node-api)|@uwdata\/flechette|parquet-wasm|node:.*)$/,
  intake: /^(papaparse|zod)$/,
  analyses: /^zod$/,
  plots: /^(@observablehq\/plot|zod)$/,
  sheet: /^(preact|@preact\/signals)$/,
  pages:
    /^(preact|@preact\/signals|zod|yaml|markdown-it|dompurify|codemirror|@codemirror\/.*|@lezer\/highlight)$/,
  app: /^(preact|@preact\/signals|zod|idb|fflate|codemirror|@codemirror\/.*|@lezer\/highlight)$/,
  batch: /^(arquero|node:.*)$/,
  tasks: /^(vite|node:.*)$/,
};

/** What the folders that see the engine only as an interface may import of it. */
const INTERFACE = ['src/engine/engine.ts', 'src/engine/sql-text.ts'];

const files = sourceFiles('src');
/** All that may ask for something of `src`. */
const ALL = [...files, ...sourceFiles('tests'), ...sourceFiles('data'), sourceFile('vite.config.ts')];
const edges = files.flatMap(({ path, imports }) => imports.map((each) => ({ path, ...each })));
const inside = edges.filter(({ target, isPackage }) => !isPackage && houseOf(target) !== null);
const said = ({ path, target }: { path: string; target: string }): string => `${path} imports ${target}`;

describe('the house', () => {
  it('is read: imports over several lines, of types, of addresses and dynamic ones', () => {
    const text = `import type { A } from '../core/a.ts';
import {
  type B,
  type C,
} from './b.ts';
import { type D, d } from './d.ts';
import './page.css';
export * from '@scope/thing/part';
import address from './worker.ts?worker&url';
const late = await import('./late.ts');
const text = "import { no } from 'nowhere'";
`;
    expect(
      importsOf('src/pages/x.ts', text).map((i) => [i.target, i.isPackage, i.isTypeOnly, i.isAddress]),
    ).toEqual([
      ['src/core/a.ts', false, true, false],
      ['src/pages/b.ts', false, true, false],
      ['src/pages/d.ts', false, false, false],
      ['src/pages/page.css', false, false, false],
      ['@scope/thing', true, false, false],
      ['src/pages/worker.ts', false, false, true],
      ['src/pages/late.ts', false, false, false],
    ]);
    expect(files.length).toBeGreaterThan(100);
    expect(inside.length).toBeGreaterThan(200);
  });

  it('is known room by room', () => {
    expect([...new Set(files.map(({ path }) => houseOf(path)))].sort()).toEqual(
      Object.keys(MAY_IMPORT).sort(),
    );
  });

  it('has imports in one direction', () => {
    const against = inside.filter(({ path, target }) => {
      const [from, to] = [houseOf(path) ?? '', houseOf(target) ?? ''];
      return from !== to && !MAY_IMPORT[from]?.includes(to);
    });
    expect(against.map(said)).toEqual([]);
  });

  it('lets plots know analyses by their types only', () => {
    const code = inside.filter(
      ({ path, target, isTypeOnly }) =>
        houseOf(path) === 'plots' && houseOf(target) === 'analyses' && !isTypeOnly,
    );
    expect(code.map(said)).toEqual([]);
  });

  it('lets only the app, the batch command and intake past the engine’s interface', () => {
    const past = inside.filter(
      ({ path, target }) =>
        houseOf(target) === 'engine' &&
        !['engine', 'app', 'batch', 'intake'].includes(houseOf(path) ?? '') &&
        !INTERFACE.includes(target),
    );
    expect(past.map(said)).toEqual([]);
  });

  it('has no ring of imports', () => {
    expect(findRing(files)).toBeNull();
    const ring = ['a', 'b', 'c'].map((name, i, all): SourceFile => {
      const target = all[(i + 1) % 3] ?? '';
      return {
        path: name,
        text: '',
        imports: [{ target, isPackage: false, isTypeOnly: false, isAddress: false }],
      };
    });
    expect(findRing(ring)).toEqual(['a', 'b', 'c', 'a']);
  });

  it('uses each package where it belongs: the database, Arrow and Parquet behind the engine alone', () => {
    const astray = edges.filter(
      ({ path, target, isPackage, isAddress }) =>
        isPackage && !isAddress && !MAY_USE[houseOf(path) ?? '']?.test(target),
    );
    expect(astray.map(said)).toEqual([]);
  });

  it('counts days: `Date` is used by the calendar, by timestamps of the engine, and by the axes of a chart', () => {
    const users = files.filter(({ text }) =>
      /\bnew Date\b|\bDate\.(now|UTC|parse)\b|(?<![\w.])Date\(/.test(text),
    );
    expect(users.map(({ path }) => path)).toEqual([
      'src/core/civil-day.ts',
      'src/engine/arrow.ts',
      'src/plots/chart-axis.ts',
    ]);
  });

  it('holds nothing that nobody asks for', () => {
    const roots = [
      'src/app/main.tsx',
      'src/batch/main.ts',
      'src/tasks/documents.ts',
      'vite.config.ts',
      ...ALL.map(({ path }) => path).filter((path) => /^(tests\/calibration|data)\//.test(path)),
    ];
    const reached = reachedFrom(roots, ALL);
    expect(files.map(({ path }) => path).filter((path) => !reached.has(path))).toEqual([
      // Checks of estimators that pages use: a search without derivatives, and a test that no page shows.
      'src/stats/box-search.ts',
      'src/stats/linear-regression.ts',
      'src/stats/log-rank.ts',
    ]);
    const tested = reachedFrom(
      sourceFiles('tests').map(({ path }) => path),
      ALL,
    );
    expect(files.map(({ path }) => path).filter((path) => !reached.has(path) && !tested.has(path))).toEqual(
      [],
    );
  });

  it('exports no name that no other file uses', () => {
    const text = `import type { A } from '../core/a.ts';
export const one = 1;
export function two() { return one; }
export async function three() {}
import { b as c, type D } from './b.ts';
import * as all from './all.ts';
const late = await import('./late.ts');
`;
    expect(namesTaken('src/pages/x.ts', text)).toEqual([
      'src/core/a.ts A',
      'src/pages/b.ts b',
      'src/pages/b.ts D',
      'src/pages/all.ts *',
      'src/pages/late.ts *',
    ]);
    const x: SourceFile = { path: 'src/pages/x.ts', text, imports: [] };
    const taker: SourceFile = {
      path: 'src/pages/y.ts',
      text: "import { two } from './x.ts';\n",
      imports: [],
    };
    expect(needlessExports([x], [x, taker])).toEqual(['src/pages/x.ts one', 'src/pages/x.ts three']);
    expect(needlessExports(files, ALL)).toEqual([]);
  });

  it('has files that can be read at a sitting', () => {
    const long = files.filter(({ text }) => text.split('\n').length > 301);
    expect(long.map(({ path }) => path)).toEqual([
      // One description after another.
      'src/herd/dictionary.ts',
    ]);
  });
});
