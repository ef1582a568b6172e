import { readdir } from 'node:fs/promises';
import { join, relative, sep } from 'node:path';
import { byBytes } from '../herd/row-order.ts';
import { UnusableInput } from './arguments.ts';

/** One file of a record, by the name under which its rows are told of. */
export interface RecordFile {
  readonly path: string;
  readonly name: string;
  /** What the folders it lies in say of every row of it (`key=value`). */
  readonly keys: Readonly<Record<string, string>>;
}

/** Files that are read and judged together: no horse has rows in two parts. */
export interface RecordPart {
  /** Whose record it is; ids of several practices are only unique within each. Null where the folders do not say. */
  readonly practice: string | null;
  readonly files: readonly RecordFile[];
}

/** How writers of this layout spell a key without a value. */
const NO_VALUE = '__HIVE_DEFAULT_PARTITION__';

/** What the folders of a path say, outermost first: `practice=Ouzel/year=2024/part-0.parquet`. */
export function keysOfPath(path: string): Record<string, string> {
  const pairs = path
    .split('/')
    .slice(0, -1)
    .flatMap((folder): [string, string][] => {
      const [, key, value] = /^([^=]+)=(.*)$/.exec(folder) ?? [];
      return key === undefined || value === undefined || value === NO_VALUE ? [] : [[key, unescaped(value)]];
    });
  return Object.fromEntries(pairs);
}

/** Names of folders may hold any sign as `%` and its code. */
function unescaped(value: string): string {
  try {
    return decodeURIComponent(value);
  } catch {
    return value;
  }
}

/**
 * The files of a folder and those in it, in parts: `practice=` tells whose they are, `part=` is some of the horses with
 * all of their rows; by any other key (a year, a month) a part is only written in several files. Files and folders that
 * begin with a dot or an underscore are not records. Throws `UnusableInput` where there is none.
 */
export async function partsOfFolder(folder: string): Promise<RecordPart[]> {
  const found = await readdir(folder, { recursive: true, withFileTypes: true });
  const files = found
    .filter((each) => each.isFile() && /\.(csv|parquet)$/i.test(each.name))
    .map((each): RecordFile => {
      const path = join(each.parentPath, each.name);
      const name = relative(folder, path).split(sep).join('/');
      return { path, name, keys: keysOfPath(name) };
    })
    .filter(({ name }) => !name.split('/').some((step) => /^[._]/.test(step)))
    .sort((a, b) => byBytes(a.name, b.name));
  if (files.length === 0)
    throw new UnusableInput(`${folder}: there is no CSV or Parquet file in this folder`);
  return inParts(files);
}

const partOf = ({ practice, part }: RecordFile['keys']): string => JSON.stringify([practice, part]);
const placeOf = ([{ keys }]: readonly [RecordFile, ...RecordFile[]]): string =>
  `${keys.practice ?? ''}/${keys.part ?? ''}`;

function inParts(files: readonly RecordFile[]): RecordPart[] {
  const parts = new Map<string, [RecordFile, ...RecordFile[]]>();
  for (const file of files) {
    const key = partOf(file.keys);
    const known = parts.get(key);
    if (known) known.push(file);
    else parts.set(key, [file]);
  }
  const common = parts.get(partOf({}));
  if (common && parts.size > 1) {
    throw new UnusableInput(
      `${common[0].name}: stands beside folders of a practice or a part, so that it is not known whose it is; put it into one of them`,
    );
  }
  // By practice, as ids with the practice before them sort: the rows then stand by horse throughout.
  return [...parts.values()]
    .sort((a, b) => byBytes(placeOf(a), placeOf(b)))
    .map((of) => ({ practice: of[0].keys.practice ?? null, files: of }));
}
