import { strFromU8, type UnzipFileInfo, unzipSync } from 'fflate';
import { z } from 'zod';
import { breathe } from '../../core/pacing.ts';
import type { Study } from '../store/kept.ts';
import { crc32 } from './crc32.ts';
import {
  amendmentSchema,
  cohortsSchema,
  derivedSchema,
  type ListPath,
  type Manifest,
  manifestSchema,
  rememberedSchema,
  STUDY_FORMAT,
  STUDY_VERSION,
  settingsSchema,
} from './manifest.ts';

/** A file that is no study, or not a whole one. The message is a sentence for people and names the file. */
export class StudyRefusal extends Error {
  override readonly name = 'StudyRefusal';
}

export interface UnpackOptions {
  readonly signal?: AbortSignal;
  readonly progress?: (fraction: number) => void;
  readonly limits?: Limits;
}

/** What an archive may come to when unpacked; a small one can hold far more than a machine has room for. */
export interface Limits {
  readonly bytes: number;
  /** Of the manifest, a list or a page. */
  readonly textBytes: number;
  readonly entries: number;
}
const LIMITS: Limits = { bytes: 1 << 30, textBytes: 64 << 20, entries: 10_000 };

/** Reads a study file whole, checking every part before any of it is used. Throws `StudyRefusal`. */
export async function unpackStudy(name: string, file: Blob, options: UnpackOptions = {}): Promise<Study> {
  const limits = options.limits ?? LIMITS;
  const refuse = (why: string): never => {
    throw new StudyRefusal(`${name} ${why}`);
  };
  if (file.size > limits.bytes) refuse(`is larger than a study file can be (${inMegabytes(limits.bytes)}).`);
  const bytes = new Uint8Array(await file.arrayBuffer());
  const listed = listEntries(bytes, limits, refuse);

  const extract = (path: string): Uint8Array => {
    if (!listed.has(path)) refuse(`is damaged: ${path} is missing.`);
    try {
      return unzipSync(bytes, { filter: (entry) => entry.name === path })[path] as Uint8Array;
    } catch {
      return refuse(`is damaged: ${path} cannot be unpacked.`);
    }
  };
  const text = (path: string, bytesOfText: Uint8Array): string => {
    if (bytesOfText.length > limits.textBytes) refuse(`is damaged: ${path} is too long.`);
    return strFromU8(bytesOfText);
  };
  const read = <T>(path: string, json: string, schema: z.ZodType<T>): T => {
    let value: unknown;
    try {
      value = JSON.parse(json);
    } catch {
      return refuse(`is damaged: ${path} cannot be read.`);
    }
    const parsed = schema.safeParse(value);
    if (parsed.success) return parsed.data;
    const [issue] = parsed.error.issues;
    return refuse(
      `cannot be opened: ${path} is not as it should be (${issue?.path.join('.')}: ${issue?.message}).`,
    );
  };

  if (!listed.has('manifest.json')) refuse('is a zip archive but no study file: it has no manifest.');
  const manifestText = text('manifest.json', extract('manifest.json'));
  const { version } = read('manifest.json', manifestText, versionSchema);
  if (version > STUDY_VERSION) {
    refuse(
      `was written by a newer Growout (format ${version}; this one reads up to ${STUDY_VERSION}). Open it with that one.`,
    );
  }
  const manifest = read('manifest.json', manifestText, manifestSchema);
  sayUnknown(manifest, listed, refuse);

  const parts = new Map<string, Uint8Array>();
  const wanted = [...manifest.lists, ...manifest.pages, ...manifest.files];
  for (const [k, { path, size, crc32: sum }] of wanted.entries()) {
    await breathe(options.signal);
    const part = extract(path);
    if (part.length !== size || crc32(part) !== sum) refuse(`is damaged: ${path} is not what was saved.`);
    parts.set(path, part);
    options.progress?.((k + 1) / wanted.length);
  }
  const list = <T>(path: ListPath, schema: z.ZodType<T>): T => read(path, textOf(path), schema);
  const textOf = (path: string): string =>
    text(path, parts.get(path) ?? refuse(`is damaged: ${path} is missing.`));

  const lines = textOf('amendments.jsonl')
    .split('\n')
    .filter((line) => line !== '');
  return {
    records:
      manifest.hemisphere === null
        ? null
        : {
            hemisphere: manifest.hemisphere,
            files: manifest.files.map(({ path, name: fileName, mapping }) => ({
              name: fileName,
              bytes: new Blob([parts.get(path) as Uint8Array<ArrayBuffer>]),
              mapping,
            })),
          },
    amendments: lines.map((line, k) => read(`amendments.jsonl line ${k + 1}`, line, amendmentSchema)),
    cohorts: list('cohorts.json', cohortsSchema),
    derived: list('derived-columns.json', derivedSchema),
    pages: manifest.pages.map(({ id, path }) => ({ id, text: textOf(path) })),
    mappings: list('mappings.json', rememberedSchema),
    settings: list('settings.json', settingsSchema),
  };
}

/** Enough to tell the version, whatever else a newer format holds. */
const versionSchema = z.looseObject({ format: z.literal(STUDY_FORMAT), version: z.number().int().min(1) });

type Refuse = (why: string) => never;

/** Names and declared sizes of all entries; nothing is unpacked, and nothing beyond the limits will be. */
function listEntries(bytes: Uint8Array, limits: Limits, refuse: Refuse): Map<string, UnzipFileInfo> {
  const listed = new Map<string, UnzipFileInfo>();
  let total = 0;
  try {
    unzipSync(bytes, {
      filter(entry) {
        total += entry.originalSize;
        if (listed.has(entry.name)) refuse(`is damaged: it holds ${entry.name} twice.`);
        if (listed.size >= limits.entries || total > limits.bytes) {
          refuse(
            `would unpack to more than a study file can hold (${inMegabytes(limits.bytes)}, ${limits.entries} files).`,
          );
        }
        listed.set(entry.name, entry);
        return false;
      },
    });
  } catch (error) {
    if (error instanceof StudyRefusal) throw error;
    refuse('is no study file, or only part of one: it is not a whole zip archive.');
  }
  return listed;
}

/** Paths and names come from outside: an archive that holds anything its manifest does not name is not ours. */
function sayUnknown(manifest: Manifest, listed: ReadonlyMap<string, unknown>, refuse: Refuse): void {
  const named = [...manifest.files, ...manifest.pages, ...manifest.lists].map(({ path }) => path);
  if (new Set(named).size < named.length) refuse('is damaged: its manifest names one part twice.');
  const known = new Set([...named, 'manifest.json']);
  for (const path of listed.keys()) {
    if (!known.has(path)) refuse(`holds a file that no study has: ${path}.`);
  }
  for (const path of named) {
    if (!SAFE_PATH.test(path)) refuse(`names a place outside of it: ${path}.`);
  }
  const names = manifest.files.map((file) => file.name);
  if (new Set(names).size < names.length) refuse('is damaged: two of its record files have one name.');
}

const SAFE_PATH = /^(files|pages)\/\d+(\.[a-z0-9]{1,8})?$|^[a-z-]+\.jsonl?$/i;

const inMegabytes = (bytes: number): string => `${Math.round(bytes / (1 << 20))} MB`;
