import { createHash } from 'node:crypto';
import { mkdtemp, readdir, readFile, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join, relative } from 'node:path';
import { strFromU8, strToU8, unzipSync, type Zippable, zipSync } from 'fflate';
import { beforeAll, describe, expect, it } from 'vitest';
import type { KeptFile, Study } from '../../src/app/store/kept.ts';
import { EMPTY_STUDY } from '../../src/app/store/kept.ts';
import { crc32 } from '../../src/app/study/crc32.ts';
import { packStudy } from '../../src/app/study/pack-study.ts';
import { StudyRefusal, unpackStudy } from '../../src/app/study/unpack-study.ts';
import { audit } from '../../src/batch/audit.ts';
import { dayFromIso } from '../../src/core/civil-day.ts';
import { initParquet } from '../../src/engine/parquet.ts';
import { rememberMapping } from '../../src/intake/mapping.ts';
import { inspectFile } from '../../src/intake/open.ts';

beforeAll(async () => {
  const path = createRequire(import.meta.url).resolve('parquet-wasm/esm/parquet_wasm_bg.wasm');
  await initParquet(await readFile(path));
});

const WHEN = { now: '2026-03-09T10:11:12.000Z', program: '0.1.0' };

async function keptFile(path: string): Promise<KeptFile> {
  const bytes = new Uint8Array(await readFile(new URL(`../../${path}`, import.meta.url)));
  const name = path.split('/').at(-1) ?? path;
  return { name, bytes: new Blob([bytes]), mapping: (await inspectFile({ name, bytes })).mapping };
}

async function wholeStudy(): Promise<Study> {
  const files = [await keptFile('data/demo-visits.csv'), await keptFile('data/demo-horses.parquet')];
  return {
    records: { files, hemisphere: 'south' },
    amendments: [
      {
        id: 'a',
        at: WHEN.now,
        batch: 'b',
        by: null,
        reason: 'read wrong: “8½” – ünïcode\nand a line',
        deed: { kind: 'change', row: 'H001|2025-01-01|LF', column: 'toe_before_mm', old: 88, value: 82.55 },
      },
      {
        id: 'c',
        at: WHEN.now,
        batch: 'd',
        by: 'J',
        reason: null,
        deed: {
          kind: 'add',
          row: 'H002|2025-02-01|RH',
          values: { horse_id: 'H002', visit_date: '2025-02-01', foot: 'RH', antifungal: true, notes: null },
          mends: { file: 'demo-visits.csv', line: 12, foot: 'RH' },
        },
      },
      { id: 'e', at: WHEN.now, batch: 'f', by: null, reason: null, deed: { kind: 'strike', row: 'x|y|z' } },
      { id: 'g', at: WHEN.now, batch: 'h', by: null, reason: null, deed: { kind: 'undo', of: ['a', 'e'] } },
    ],
    cohorts: [
      { name: 'wet ground', cohort: { levels: { terrain: ['soft'] }, from: 19000, to: null } },
      {
        name: 'long toes',
        cohort: {
          levels: {},
          from: null,
          to: null,
          conditions: [
            { column: 'toe_before_mm', test: 'at least', value: '90', label: 'Toe', kind: 'length' },
          ],
          histories: [{ problem: 'separation', when: 'before' }],
          sql: 'toe_before_mm > 2 * heel_before_mm',
        },
      },
    ],
    derived: [
      {
        name: 'ratio',
        label: 'Ratio',
        expression: 'toe_before_mm / heel_before_mm',
        on: 'foot_visit',
        digits: 2,
      },
    ],
    pages: [
      { id: 'mine', text: '# Mine\n\nText – “quoted”\r\n' },
      { id: '../odd name', text: '' },
    ],
    mappings: files.map(({ mapping }) => rememberMapping(mapping)),
    settings: { 'sheet-layout': { widths: { notes: 200 }, order: ['foot'] } },
  };
}

const digest = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');

/** A study with a digest in place of each file, to be compared. */
async function readable(study: Study) {
  const files = await Promise.all(
    (study.records?.files ?? []).map(async (file) => ({
      ...file,
      bytes: digest(new Uint8Array(await file.bytes.arrayBuffer())),
    })),
  );
  return { ...study, records: study.records && { ...study.records, files } };
}

/** The archive of a small study, changed by hand. */
async function altered(change: (entries: Zippable) => Zippable): Promise<Blob> {
  const study: Study = {
    ...EMPTY_STUDY,
    records: { hemisphere: 'north', files: [await keptFile('tests/fixtures/wide-export.csv')] },
  };
  const packed = await packStudy(study, WHEN);
  return zipped(change(unzipSync(new Uint8Array(await packed.arrayBuffer()))));
}
const zipped = (entries: Zippable): Blob => new Blob([zipSync(entries) as Uint8Array<ArrayBuffer>]);

function withManifest(entries: Zippable, change: (manifest: Record<string, unknown>) => unknown): Zippable {
  const manifest = JSON.parse(strFromU8(entries['manifest.json'] as Uint8Array)) as Record<string, unknown>;
  return { ...entries, 'manifest.json': strToU8(JSON.stringify(change(manifest))) };
}

async function refusal(
  file: Blob,
  limits?: { bytes: number; textBytes: number; entries: number },
): Promise<string> {
  const outcome = await unpackStudy('mine.growout', file, limits ? { limits } : {}).then(
    () => 'opened',
    (error: unknown) => error,
  );
  expect(outcome).toBeInstanceOf(StudyRefusal);
  return (outcome as StudyRefusal).message;
}

describe('a study file', () => {
  it('gives back every part of the study and every byte of its files', async () => {
    const study = await wholeStudy();
    const back = await unpackStudy('mine.growout', await packStudy(study, WHEN));
    expect(await readable(back)).toEqual(await readable(study));
  });

  it('gives back a study without records', async () => {
    const back = await unpackStudy('mine.growout', await packStudy(EMPTY_STUDY, WHEN));
    expect(back).toEqual(EMPTY_STUDY);
  });

  it('comes out the same, byte by byte, however often it is opened and saved', async () => {
    const again = async (file: Blob) => packStudy(await unpackStudy('mine.growout', file), WHEN);
    const second = await again(await packStudy(await wholeStudy(), WHEN));
    const third = await again(second);
    const [before, after] = await Promise.all([second, third].map((file) => file.arrayBuffer()));
    expect(digest(new Uint8Array(after!))).toBe(digest(new Uint8Array(before!)));
  });

  it('gives an audit with byte-equal tables', async () => {
    const study = await fewHorses();
    const back = await unpackStudy('mine.growout', await packStudy(study, WHEN));
    const results = [await auditOf(study), await auditOf(back)] as const;
    expect(Object.keys(results[0]).length).toBeGreaterThan(5);
    expect(results[0]['growth.csv']).toContain('toe growth,all');
    expect(results[1]).toEqual(results[0]);
  }, 120_000);
});

/** Six horses of the demo herd. */
async function fewHorses(): Promise<Study> {
  const text = await readFile(new URL('../../data/demo-visits.csv', import.meta.url), 'utf8');
  const lines = text.split('\n').filter((line, k) => k === 0 || /^H10[1-6],/.test(line));
  const bytes = strToU8(`${lines.join('\n')}\n`) as Uint8Array<ArrayBuffer>;
  const name = 'few.csv';
  const { mapping } = await inspectFile({ name, bytes });
  return {
    ...EMPTY_STUDY,
    records: { hemisphere: 'north', files: [{ name, bytes: new Blob([bytes]), mapping }] },
  };
}

async function auditOf(study: Study): Promise<Record<string, string>> {
  const folder = await mkdtemp(join(tmpdir(), 'study-'));
  const paths: string[] = [];
  for (const { name, bytes } of study.records?.files ?? []) {
    paths.push(join(folder, name));
    await writeFile(join(folder, name), new Uint8Array(await bytes.arrayBuffer()));
  }
  const out = join(folder, 'out');
  const complaints: string[] = [];
  const status = await audit(
    [...paths, '--out', out],
    () => undefined,
    (line) => complaints.push(line),
    dayFromIso('2026-11-20')!,
  );
  expect([status, complaints]).toEqual([0, []]);
  const entries = await readdir(out, { recursive: true, withFileTypes: true });
  const names = entries
    .filter((entry) => entry.isFile())
    .map((entry) => relative(out, join(entry.parentPath, entry.name)));
  return Object.fromEntries(
    await Promise.all(names.map(async (name) => [name, await readFile(join(out, name), 'utf8')] as const)),
  );
}

describe('a file that is no whole study is refused in a sentence that names it', () => {
  it('text', async () => {
    expect(await refusal(new Blob(['horse_id,foot\nA,LF\n']))).toBe(
      'mine.growout is no study file, or only part of one: it is not a whole zip archive.',
    );
  });

  it('nothing at all', async () => {
    expect(await refusal(new Blob([]))).toContain('not a whole zip archive');
  });

  it('a download that broke off, wherever it did', async () => {
    const whole = new Uint8Array(await (await packStudy(await wholeStudy(), WHEN)).arrayBuffer());
    for (const share of [0.1, 0.5, 0.9, 0.999]) {
      const cut = whole.slice(0, Math.floor(whole.length * share));
      expect(await refusal(new Blob([cut]))).toMatch(/^mine\.growout is (no study file|damaged)/);
    }
  });

  it('another zip archive', async () => {
    expect(await refusal(zipped({ 'a.txt': strToU8('hello') }))).toContain(
      'no study file: it has no manifest',
    );
  });

  it('a newer format', async () => {
    const newer = await altered((e) =>
      withManifest(e, (m) => ({ format: m.format, version: 2, shape: 'unknown' })),
    );
    expect(await refusal(newer)).toContain('written by a newer Growout (format 2; this one reads up to 1)');
  });

  it('a manifest of another program, or of no sense', async () => {
    expect(
      await refusal(await altered((e) => withManifest(e, (m) => ({ ...m, format: 'other' })))),
    ).toContain('format');
    expect(await refusal(await altered((e) => ({ ...e, 'manifest.json': strToU8('{') })))).toContain(
      'manifest.json',
    );
    expect(
      await refusal(await altered((e) => withManifest(e, (m) => ({ ...m, hemisphere: 'east' })))),
    ).toContain('hemisphere');
  });

  it('a path that leads out of it', async () => {
    const climbing = await altered((e) => ({ ...e, '../../evil.csv': strToU8('x') }));
    expect(await refusal(climbing)).toContain('holds a file that no study has: ../../evil.csv');
    const named = await altered((e) =>
      withManifest({ ...e, '/etc/evil.csv': e['files/1.csv']! }, (m) => ({
        ...m,
        files: (m.files as object[]).map((file) => ({ ...file, path: '/etc/evil.csv' })),
      })),
    );
    expect(await refusal(named)).toMatch(/holds a file that no study has|names a place outside/);
  });

  it('a part that is missing, or not what was saved', async () => {
    const missing = await altered(({ 'files/1.csv': _gone, ...rest }) => rest);
    expect(await refusal(missing)).toBe('mine.growout is damaged: files/1.csv is missing.');
    const changed = await altered((e) => {
      const bytes = (e['files/1.csv'] as Uint8Array).slice();
      bytes[100]! ^= 1;
      return { ...e, 'files/1.csv': bytes };
    });
    expect(await refusal(changed)).toBe('mine.growout is damaged: files/1.csv is not what was saved.');
  });

  it('an amendment to a column that the records do not have', async () => {
    const line = JSON.stringify({
      ...(await wholeStudy()).amendments[0],
      deed: { kind: 'change', row: 'a|b|c', column: 'toe"; DROP TABLE x; --', old: null, value: 1 },
    });
    const bytes = strToU8(line);
    const forged = await altered((e) =>
      withManifest({ ...e, 'amendments.jsonl': bytes }, (m) => ({
        ...m,
        lists: (m.lists as { path: string }[]).map((list) =>
          list.path === 'amendments.jsonl' ? { ...list, size: bytes.length, crc32: crc32(bytes) } : list,
        ),
      })),
    );
    expect(await refusal(forged)).toContain('amendments.jsonl line 1 is not as it should be (deed.column');
  });

  it('an archive that would unpack to more than there is room for', async () => {
    const limits = { bytes: 10 << 20, textBytes: 1 << 20, entries: 100 };
    const bomb = zipped({ 'manifest.json': strToU8('{}'), 'files/1.csv': new Uint8Array(50 << 20) });
    expect(bomb.size).toBeLessThan(100_000);
    expect(await refusal(bomb, limits)).toContain('would unpack to more than a study file can hold (10 MB');
    const many = zipped(
      Object.fromEntries(Array.from({ length: 101 }, (_, k) => [`pages/${k}.md`, new Uint8Array()])),
    );
    expect(await refusal(many, limits)).toContain('would unpack to more');
  });

  it('an archive that says it is smaller than it is', async () => {
    const honest = await altered((e) => ({ ...e, 'files/1.csv': new Uint8Array(1 << 20) }));
    const bytes = new Uint8Array(await honest.arrayBuffer());
    const view = new DataView(bytes.buffer);
    // The uncompressed size in each header of an entry (APPNOTE 4.3.7 and 4.3.12) becomes 16.
    for (let at = 0; at + 46 < bytes.length; at++) {
      const signature = view.getUint32(at, true);
      const field = signature === 0x04034b50 ? at + 22 : signature === 0x02014b50 ? at + 24 : 0;
      if (field && view.getUint32(field, true) === 1 << 20) view.setUint32(field, 16, true);
    }
    expect(await refusal(new Blob([bytes]))).toMatch(/is damaged/);
  });
});

describe('crc32', () => {
  // The check value of CRC-32/ISO-HDLC in the catalogue of parametrised CRC algorithms (reveng), "123456789".
  it('of the nine digits is CBF43926', () => expect(crc32(strToU8('123456789'))).toBe(0xcbf43926));
  it('can be taken piece by piece', () => {
    expect(crc32(strToU8('56789'), crc32(strToU8('1234')))).toBe(0xcbf43926);
  });
});
