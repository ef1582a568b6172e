import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, sep } from 'node:path';
import { fileURLToPath } from 'node:url';

export const ROOT = fileURLToPath(new URL('../../..', import.meta.url));

export interface Import {
  /** A file of this project by its path from the root, or a package's name. */
  readonly target: string;
  readonly isPackage: boolean;
  readonly isTypeOnly: boolean;
  /** An address of a file, by Vite's `?url` or `?worker&url`: no code of it runs here. */
  readonly isAddress: boolean;
}

export interface SourceFile {
  readonly path: string;
  readonly text: string;
  readonly imports: readonly Import[];
}

const STATEMENTS =
  /^(?:import|export)\s+(type\s)?([^'";]*?)from\s+'([^']+)'|^import\s+'([^']+)'|\bimport\(\s*'([^']+)'\s*\)/gm;

/** Every import, export-from and dynamic import of a module's text, resolved from where it stands. */
export function importsOf(path: string, text: string): Import[] {
  return [...text.matchAll(STATEMENTS)].map(([, type, names = '', from, bare, dynamic]) => {
    const written = from ?? bare ?? dynamic ?? '';
    const [address = '', query] = written.split('?');
    const isPackage = !address.startsWith('.');
    const named = /^\{([^}]*)\}\s*$/.exec(names.trim())?.[1];
    const each = named
      ?.split(',')
      .map((name) => name.trim())
      .filter((name) => name !== '');
    return {
      target: isPackage ? packageName(address) : join(dirname(path), address).split(sep).join('/'),
      isPackage,
      isTypeOnly:
        type !== undefined || (each?.length ? each.every((name) => name.startsWith('type ')) : false),
      isAddress: query !== undefined,
    };
  });
}

function packageName(address: string): string {
  const parts = address.split('/');
  return address.startsWith('@') ? parts.slice(0, 2).join('/') : (parts[0] ?? address);
}

/** Every TypeScript module below a folder of the project, in order of path. */
export function sourceFiles(folder: string): SourceFile[] {
  return readdirSync(join(ROOT, folder), { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && /(?<!\.d)\.tsx?$/.test(entry.name))
    .map((entry) => relative(ROOT, join(entry.parentPath, entry.name)).split(sep).join('/'))
    .sort()
    .map(sourceFile);
}

/** One module of the project. */
export function sourceFile(path: string): SourceFile {
  const text = readFileSync(join(ROOT, path), 'utf8');
  return { path, text, imports: importsOf(path, text) };
}

/** The folder of `src` that a path lies in: `src/engine/arrow.ts` → `engine`; null outside `src`. */
export function houseOf(path: string): string | null {
  return /^src\/([^/]+)\//.exec(path)?.[1] ?? null;
}

/** Files reached from some of them by following imports, those included. */
export function reachedFrom(roots: readonly string[], files: readonly SourceFile[]): Set<string> {
  const byPath = new Map(files.map((file) => [file.path, file]));
  const reached = new Set<string>();
  const waiting = [...roots];
  for (let path = waiting.pop(); path !== undefined; path = waiting.pop()) {
    if (reached.has(path)) continue;
    reached.add(path);
    for (const { target, isPackage } of byPath.get(path)?.imports ?? []) if (!isPackage) waiting.push(target);
  }
  return reached;
}

/** One ring of imports, as paths; null where there is none. */
export function findRing(files: readonly SourceFile[]): string[] | null {
  const byPath = new Map(files.map((file) => [file.path, file]));
  const done = new Set<string>();
  const walk = (path: string, trail: readonly string[]): string[] | null => {
    if (trail.includes(path)) return [...trail.slice(trail.indexOf(path)), path];
    if (done.has(path)) return null;
    for (const { target, isPackage, isAddress } of byPath.get(path)?.imports ?? []) {
      const ring = isPackage || isAddress ? null : walk(target, [...trail, path]);
      if (ring) return ring;
    }
    done.add(path);
    return null;
  };
  for (const { path } of files) {
    const ring = walk(path, []);
    if (ring) return ring;
  }
  return null;
}
