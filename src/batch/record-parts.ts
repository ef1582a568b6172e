import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { type AuditArguments, UnusableInput } from './arguments.ts';
import { partsOfFolder, type RecordPart } from './hive-folder.ts';

interface GivenRecord {
  readonly parts: readonly RecordPart[];
  /** The files came as one folder rather than by their names. */
  readonly isFolder: boolean;
}

/** What is to be read: the parts of one folder, or the files that were named as one part. */
export async function givenRecord({ files }: AuditArguments): Promise<GivenRecord> {
  const [first] = files as [string, ...string[]];
  const folder = (await Promise.all(files.map(isFolder))).indexOf(true);
  if (folder === -1) {
    const named = files.map((path) => ({ path, name: basename(path), keys: {} }));
    return { parts: [{ practice: null, files: named }], isFolder: false };
  }
  if (files.length > 1) {
    throw new UnusableInput(`${files[folder]}: is a folder; name it alone, or name the files in it`);
  }
  return { parts: await partsOfFolder(first), isFolder: true };
}

async function isFolder(path: string): Promise<boolean> {
  try {
    return (await stat(path)).isDirectory();
  } catch {
    // Whoever reads it says why it cannot be read.
    return false;
  }
}
