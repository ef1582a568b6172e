import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { ROOT, sourceFile } from './imports.ts';
import { type Document, inlineCode, partsOf } from './markdown.ts';

export interface Package {
  readonly scripts: Readonly<Record<string, string>>;
}

/** Programs of the packages that are run by name. */
const PROGRAMS = ['tsx', 'vitest', 'tsc', 'biome', 'playwright', 'vite'];
/** Where a script reads its words: elsewhere than in the file that it names. */
const READ_ELSEWHERE: Readonly<Record<string, string>> = { 'src/tasks/audit.mjs': 'src/batch/main.ts' };

/** Commands of a document, in code blocks and between backticks, without what only shows where words go. */
export function commandsOf(text: string): string[] {
  const { prose, code } = partsOf(text);
  return [...code, ...inlineCode(prose)]
    .map((line) =>
      line
        .replaceAll(/\s+/g, ' ')
        .replace(/ [#>|].*$/, '')
        .trim(),
    )
    .filter((line) => /^(npm|npx|node) /.test(line));
}

/** Scripts, files and options that a document's commands name and that do not exist. */
export function commandFaults({ path, text }: Document, { scripts }: Package): string[] {
  return commandsOf(text).flatMap((command) => {
    const fault = commandFault(command, scripts);
    return fault === null ? [] : [`${path}: \`${command}\`: ${fault}`];
  });
}

function commandFault(command: string, scripts: Package['scripts']): string | null {
  const words = command.split(' ');
  const [program = '', first = '', ...rest] = words;
  if (program === 'npm') {
    if (first !== 'run') return first in scripts ? null : `no script ${first}`;
    const given = rest.filter((word) => word !== '--silent');
    const [name = '', ...more] = given;
    const script = scripts[name];
    if (script === undefined) return `no script ${name}`;
    return optionFault(more[0] === '--' ? more.slice(1) : more, entryOf(script));
  }
  if (program === 'npx' && !PROGRAMS.includes(first)) return `${first} is not a program of this project`;
  const named = (program === 'npx' ? rest : [first, ...rest]).filter((word) =>
    /^(src|tests|data)\//.test(word),
  );
  const missing = withoutValues(named, words).find((word) => !existsSync(join(ROOT, word)));
  if (missing !== undefined) return `${missing} is not there`;
  const entry = named.find((word) => /\.(ts|mjs)$/.test(word));
  return first === 'tsx' || program === 'node' ? optionFault(rest, entry ?? null) : null;
}

/** Words that are no value of an option: what is written need not be there before. */
const withoutValues = (named: readonly string[], words: readonly string[]): string[] =>
  named.filter((word) => !words[words.indexOf(word) - 1]?.startsWith('--'));

const entryOf = (script: string): string | null => {
  const file = /(?:src|tests|data)\/[\w./-]+\.(?:ts|mjs)/.exec(script)?.[0] ?? null;
  return file === null ? null : (READ_ELSEWHERE[file] ?? file);
};

/** An option that stands nowhere as a key in what the command runs; null where all do, or nothing of ours reads them. */
function optionFault(words: readonly string[], entry: string | null): string | null {
  if (entry === null) return null;
  const code = codeBehind(entry);
  const options = words
    .filter((word) => word.startsWith('--'))
    .map((word) => word.slice(2).split('=')[0] ?? '');
  const unknown = options.find((name) => !new RegExp(`['"]?\\b${name}['"]?: \\{ type:`).test(code));
  return unknown === undefined ? null : `--${unknown} is no option of ${entry}`;
}

/** The code of a command and of what it imports from its own folder: options are read at the door. */
function codeBehind(entry: string, seen = new Set<string>()): string {
  if (seen.has(entry) || !existsSync(join(ROOT, entry))) return '';
  seen.add(entry);
  const { text, imports } = sourceFile(entry);
  const beside = imports.filter(({ target, isPackage }) => !isPackage && dirname(target) === dirname(entry));
  return [text, ...beside.map(({ target }) => codeBehind(target, seen))].join('\n');
}
