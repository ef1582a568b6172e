import { importsOf, type SourceFile } from '../../src/tasks/documents/imports.ts';

const DECLARED =
  /^export (?:default )?(?:abstract |async )*(?:const|let|function\*?|class|interface|type|enum) (\w+)/gm;
const STATEMENTS =
  /^(?:import|export)\s+(?:type\s+)?(?:\{([^}]*)\}|[^'";{]*?)\s*from\s+'([^']+)'|\bimport\(\s*'([^']+)'\s*\)/gm;

/** What a module takes of others: a path and a name, or the path and `*` where it takes all or that cannot be told. */
export function namesTaken(path: string, text: string): string[] {
  return [...text.matchAll(STATEMENTS)].flatMap(([, braces, from, dynamic]) => {
    const [read] = importsOf(path, `import x from '${from ?? dynamic}';`);
    if (!read || read.isPackage) return [];
    return (braces === undefined ? ['*'] : namesIn(braces)).map((name) => `${read.target} ${name}`);
  });
}

const namesIn = (braces: string): string[] =>
  braces
    .split(',')
    .map(
      (each) =>
        each
          .trim()
          .replace(/^type\s+/, '')
          .split(/\s+as\s+/)[0] ?? '',
    )
    .filter((name) => name !== '');

/** Exported names, as `path name`, that no taker imports: used in their own file alone, or not at all. */
export function needlessExports(files: readonly SourceFile[], takers: readonly SourceFile[]): string[] {
  const taken = new Set(takers.flatMap(({ path, text }) => namesTaken(path, text)));
  return files.flatMap(({ path, text }) => {
    if (taken.has(`${path} *`)) return [];
    return [...text.matchAll(DECLARED)]
      .map((match) => match[1] ?? '')
      .filter((name) => !taken.has(`${path} ${name}`))
      .map((name) => `${path} ${name}`);
  });
}
