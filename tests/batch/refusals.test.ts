import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { audit } from '../../src/batch/audit.ts';
import { readFiles } from '../../src/batch/read-files.ts';
import { civilDay } from '../../src/core/civil-day.ts';
import { numbers } from '../../src/core/table.ts';

const TODAY = civilDay(2026, 11, 1)!;
const HEADER = 'horse_id,visit_date,foot,toe_before_mm,toe_after_mm';
const EITHER_WAY = `${HEADER}\nA,03/04/2025,LF,90,80\nA,05/06/2025,LF,91,80\n`;

let folder: string;
const at = (name: string): string => join(folder, name);
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'growout-refusals-'));
  mkdirSync(at('records'));
  writeFileSync(at('picture.csv'), Buffer.from('89504e470d0a1a0a0000000d49484452', 'hex'));
  writeFileSync(at('either-way.csv'), EITHER_WAY);
  writeFileSync(at('bad.csv'), `${HEADER}\nA,2025-03-09,LF,900,80\n,2025-03-09,RF,90,80\n`);
  writeFileSync(at('horses.csv'), 'horse_id,breed\nA,Shire\n');
  writeFileSync(at('good.csv'), `${HEADER}\nA,2025-03-09,LF,90,80\n`);
  writeFileSync(at('no-date.csv'), 'horse_id,foot,toe_before_mm\nA,LF,90\n');
  writeFileSync(at('no-unit.csv'), 'horse_id,visit_date,foot,toe\nA,2025-03-09,LF,0.2\n');
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function run(...words: string[]): Promise<{ status: number; told: string; complaints: string }> {
  const told: string[] = [];
  const complaints: string[] = [];
  const status = await audit(
    words,
    (line) => told.push(line),
    (line) => complaints.push(line),
    TODAY,
  );
  return { status, told: told.join('\n'), complaints: complaints.join('\n') };
}

describe('an audit that cannot be done', () => {
  it.each([
    [
      'no file',
      () => ['--out', at('out')],
      ['name at least one file of visit records', 'usage: npm run audit'],
    ],
    ['no --out', () => [at('good.csv')], ['say where the results go with --out DIR', 'usage: npm run audit']],
    ['an option that is not there', () => [at('good.csv'), '--fast'], ["'--fast'", 'usage: npm run audit']],
    [
      'an order of dates that is none',
      () => [at('good.csv'), '--out', at('out'), '--dates', 'ymd'],
      ['--dates must be day-first or month-first: ymd'],
    ],
    ['a missing file', () => [at('gone.csv'), '--out', at('out')], ['gone.csv', 'there is no such file']],
    [
      'a folder without records',
      () => [at('records'), '--out', at('out')],
      ['records', 'there is no CSV or Parquet file in this folder'],
    ],
    [
      'a folder beside a file',
      () => [at('good.csv'), at('records'), '--out', at('out')],
      ['records', 'is a folder; name it alone'],
    ],
    [
      'an engine that is none',
      () => [at('good.csv'), '--out', at('out'), '--engine', 'quick'],
      ['native or wasm'],
    ],
    [
      'a memory that is none',
      () => [at('good.csv'), '--out', at('out'), '--memory', '2'],
      ['--memory must be'],
    ],
    ['a picture', () => [at('picture.csv'), '--out', at('out')], ['picture.csv is a picture']],
    [
      'dates that fit both orders',
      () => [at('either-way.csv'), '--out', at('out')],
      ['either-way.csv', 'day-first or month-first', '--dates day-first'],
    ],
    [
      'a file without dates',
      () => [at('no-date.csv'), '--out', at('out')],
      ['no-date.csv', 'No column holds the visit date.'],
    ],
    [
      'nothing but rows set aside',
      () => [at('bad.csv'), '--out', at('out')],
      ['none of the rows', 'bad.csv', '2 were set aside'],
    ],
    [
      'horses without visits',
      () => [at('horses.csv'), '--out', at('out')],
      ['horses.csv', 'none of the rows'],
    ],
    [
      'one good file beside one that is not there',
      () => [at('good.csv'), at('gone.csv'), '--out', at('out')],
      ['gone.csv', 'there is no such file'],
    ],
    [
      'results that would go into a file',
      () => [at('good.csv'), '--out', at('good.csv')],
      ['--out must be a folder', 'a file of this name is in the way'],
    ],
  ])('says so of %s, and ends with status 2', async (_what, words, sentences) => {
    const { status, told, complaints } = await run(...words());
    expect(status).toBe(2);
    expect(told).toBe('');
    for (const sentence of sentences) expect(complaints).toContain(sentence);
    expect(readdirSync(folder).includes('out') ? readdirSync(at('out')) : []).toEqual([]);
  });

  it('explains itself when asked, which is no fault', async () => {
    const { status, told, complaints } = await run('--help');
    expect(status).toBe(0);
    expect(told).toContain('usage: npm run audit -- FILE... --out DIR');
    expect(told).toContain('exit status: 0 done, 2 the input cannot be used');
    expect(complaints).toBe('');
  });
});

describe('dates that fit both orders', () => {
  it.each([
    ['day-first', [civilDay(2025, 4, 3), civilDay(2025, 6, 5)]],
    ['month-first', [civilDay(2025, 3, 4), civilDay(2025, 5, 6)]],
  ] as const)('are read %s where that is said', async (dates, days) => {
    const files = [{ path: at('either-way.csv'), name: 'either-way.csv', keys: {} }];
    const { admitted } = await readFiles(files, dates, TODAY);
    expect([...numbers(admitted, 'visit_date')]).toEqual(days);
  });
});
