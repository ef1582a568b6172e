import { strToU8, Zip, ZipDeflate, ZipPassThrough } from 'fflate';
import { breathe } from '../../core/pacing.ts';
import type { Study } from '../store/kept.ts';
import { crc32 } from './crc32.ts';
import { type ListPath, type Manifest, STUDY_FORMAT, STUDY_VERSION } from './manifest.ts';

export interface PackOptions {
  /** Instant, ISO 8601 in UTC. */
  readonly now: string;
  readonly program: string;
  readonly signal?: AbortSignal;
  readonly progress?: (fraction: number) => void;
}

const CHUNK = 4 << 20;
/** Of these, packing again would gain nothing. */
const PACKED_ALREADY = /\.parquet$/i;

/** The whole study as one zip archive (PKWARE APPNOTE 6.3), its manifest first: what it holds can be seen with any tool. */
export async function packStudy(study: Study, options: PackOptions): Promise<Blob> {
  const files = study.records?.files ?? [];
  const all = files.reduce((sum, { bytes }) => sum + bytes.size, 1);
  let read = 0;
  const step = (bytes: number): void => {
    read += bytes;
    options.progress?.(read / (2 * all));
  };

  const filed: Manifest['files'] = [];
  for (const [k, { name, bytes, mapping }] of files.entries()) {
    const path = `files/${k + 1}${/\.[a-z0-9]{1,8}$/i.exec(name)?.[0] ?? ''}`;
    let sum = 0;
    for await (const chunk of chunks(bytes, options.signal)) {
      sum = crc32(chunk, sum);
      step(chunk.length);
    }
    filed.push({ path, name, size: bytes.size, crc32: sum, mapping });
  }
  const pages = study.pages.map(({ text }, k) => textPart(`pages/${k + 1}.md`, text));
  const lists = listTexts(study).map(([path, text]) => textPart(path, text));
  const manifest: Manifest = {
    format: STUDY_FORMAT,
    version: STUDY_VERSION,
    program: options.program,
    created: options.now,
    hemisphere: study.records?.hemisphere ?? null,
    files: filed,
    pages: pages.map(({ part }, k) => ({ ...part, id: study.pages[k]?.id ?? '' })),
    lists: lists.map(({ part }) => part as Manifest['lists'][number]),
  };

  const parts: Uint8Array<ArrayBuffer>[] = [];
  const zip = new Zip((error, data) => {
    if (error) throw error;
    parts.push(data as Uint8Array<ArrayBuffer>);
  });
  const put = (path: string, bytes: Uint8Array): void => {
    const entry = new ZipDeflate(path, { level: 6 });
    // The study's own time, not that of packing: the same study packs to the same bytes.
    entry.mtime = options.now;
    zip.add(entry);
    entry.push(bytes, true);
  };
  put('manifest.json', strToU8(JSON.stringify(manifest, null, 1)));
  for (const { part, bytes } of [...lists, ...pages]) put(part.path, bytes);
  for (const [k, { name, bytes }] of files.entries()) {
    const path = filed[k]?.path ?? '';
    const entry = PACKED_ALREADY.test(name) ? new ZipPassThrough(path) : new ZipDeflate(path, { level: 6 });
    // The study's own time, not that of packing: the same study packs to the same bytes.
    entry.mtime = options.now;
    zip.add(entry);
    for await (const chunk of chunks(bytes, options.signal)) {
      entry.push(chunk);
      step(chunk.length);
    }
    entry.push(new Uint8Array(), true);
  }
  zip.end();
  return new Blob(parts, { type: 'application/zip' });
}

/** The lists of a study as text; those of settings and cohorts are plain JSON. */
function listTexts(study: Study): [ListPath, string][] {
  const json = (value: unknown): string => `${JSON.stringify(value, null, 1)}\n`;
  return [
    ['amendments.jsonl', study.amendments.map((one) => `${JSON.stringify(one)}\n`).join('')],
    ['cohorts.json', json(study.cohorts)],
    ['derived-columns.json', json(study.derived)],
    ['mappings.json', json(study.mappings)],
    ['settings.json', json(study.settings)],
  ];
}

function textPart(path: string, text: string) {
  const bytes = strToU8(text);
  return { part: { path, size: bytes.length, crc32: crc32(bytes) }, bytes };
}

/** A file a piece at a time, with room for other work between. */
async function* chunks(blob: Blob, signal: AbortSignal | undefined): AsyncGenerator<Uint8Array> {
  for (let from = 0; from < blob.size; from += CHUNK) {
    if (from > 0) await breathe(signal);
    yield new Uint8Array(await blob.slice(from, from + CHUNK).arrayBuffer());
  }
}
