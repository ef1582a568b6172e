import { describe, expect, it } from 'vitest';
import { cellsReadText } from './cells-text.ts';
import { withMarked } from './documents.ts';
import { filled } from './filled.ts';
import { folderRecordText } from './folder-record.ts';
import { oneTabText } from './one-tab.ts';
import { type PartResult, resultsText } from './results.ts';

const ms = (key: string, values: readonly number[]) => ({ key, what: key, unit: 'ms' as const, values });
const browser = (rows: number, measurements: PartResult['measurements']): PartResult => ({
  part: 'browser',
  rows,
  herd: { horses: 10, feet: 40, horseYears: 21 },
  measurements,
  commit: 'abc1234',
  at: '2026-11-29T17:00:00.000Z',
  machine: 'made up',
  versions: {},
  notes: [],
});
const RESULTS = [
  browser(1000, [
    { ...ms('browser load parquet', [400, 500, 600]), beside: { name: 'native', values: [100, 200, 300] } },
    ms('browser page a', [2000]),
    ms('browser page b', [900]),
    ms('browser cohort a', [1500]),
    ms('browser cohort b', [250]),
    ms('browser whole a', [4000]),
    ms('browser whole b', [300]),
    { ...ms('browser memory pages', [1234.5]), unit: 'MB' },
    { ...ms('browser failed', [0]), unit: 'count' },
  ]),
  browser(5000, [ms('browser page a', [60_000])]),
];
const spaced = (text: string): string => text.replaceAll('\u00a0', ' ');

describe('a text with figures to put in', () => {
  it('takes each from what was measured', () => {
    const text = `{{ratio browser load parquet @1000}} {{median browser load parquet @1000}} {{median browser memory pages @1000}}
      {{range browser page  @1000}} {{number browser page  @1000}} {{median browser failed @1000}}`;
    expect(spaced(filled(text, RESULTS)).replaceAll(/\s+/g, ' ')).toBe('2.5 500 ms 1.23 GB 0.9 to 2 s 2 0');
  });

  it('is refused where one was not measured, or is written otherwise', () => {
    expect(() => filled('{{median browser load parquet @5000}}', RESULTS)).toThrow('must have been measured');
    expect(() => filled('{{mean browser failed @1000}}', RESULTS)).toThrow('range or number: mean');
    expect(() => filled('{{median browser failed}}', RESULTS)).toThrow('{{kind key @rows}}');
  });
});

describe('a document', () => {
  it('keeps all but what stands between its marks', () => {
    const text = 'before\n<!-- measured: x -->\nold 1\n<!-- end -->\nafter <!-- end -->\n';
    const made = withMarked(text, 'x', 'new 2\n');
    expect(made).toBe('before\n<!-- measured: x -->\n\nnew 2\n\n<!-- end -->\nafter <!-- end -->\n');
    expect(withMarked(made, 'x', 'new 2\n')).toBe(made);
    expect(() => withMarked(text, 'y', '')).toThrow('a place for what was measured: y');
  });

  it('says of one tab what was tried and what was not', () => {
    const text = spaced(oneTabText(RESULTS));
    expect(text).toContain(
      '| 1,000 | 40 | 21 | 500 ms | 2 s | 1.23 GB | 2 opened, at 0.9 to 2 s each; none failed |',
    );
    expect(text).toContain(
      '| 5,000 | 40 | 21 | not timed | 60 s | not measured | 1 opened, at 60 s each; the other 1 not tried; whether an entry failed was not kept |',
    );
    expect(text).toContain(
      'takes, until every plot is redrawn, 0.25 to 1.5 s a page at 1,000 rows (0.3 to 4 s until every band, table and sentence stands)',
    );
  });

  it('says of a record in a folder what each practice took, and how the last compares with the first', () => {
    const step = (what: string, processorSeconds: number, peakGB: number) => ({
      what,
      seconds: 2 * processorSeconds,
      processorSeconds,
      peakGB,
    });
    const text = folderRecordText({
      day: '2026-11-29',
      practices: 3,
      memory: '2GB',
      rowsRead: 3000,
      admitted: 2990,
      setAside: 10,
      horses: 30,
      feet: 120,
      cycles: 2000,
      steps: [
        step('files written', 50, 0.5),
        ...[10, 30, 20].map((s, k) => step(`practice ${k + 1}`, s, 1 + k / 10)),
        step('trim cycles built', 5, 1.5),
      ],
    });
    expect(text).toContain('| each of the 3: median (least to most) | 20 (10–30) | 40 (20–60) | 1.2 |');
    expect(text).toContain('| all 3: 3,000 rows read = 2,990 admitted + 10 set aside | 60 | 120 | 1.2 |');
    expect(text).toContain('2,000 cycles of 120 feet, 30 horses | 5.0 | 10 | 1.5 |');
    expect(text).toContain(
      'took 20 s of the processor, the first 10 s; peak memory\ngrew by 100 MB a practice',
    );
    expect(text).not.toContain('files written');
  });
});

describe('cells that analyses read', () => {
  it('are told least first, with the memory that they take', () => {
    const text = cellsReadText({ growth: 12.5, wear: 0.5 });
    expect(text.split('\n').slice(2, 4)).toEqual(['| wear | 0.5 | 4 | 0.2 |', '| growth | 12.5 | 100 | 5 |']);
  });
});

describe('what is kept', () => {
  it('reads back as it was but for digits that are not known', () => {
    const given = [browser(1000, [ms('a', [1234.56789, 2, 0.000123456789])]), ...RESULTS];
    const back = JSON.parse(resultsText(given)) as PartResult[];
    expect(back[0]?.measurements[0]?.values).toEqual([1234.6, 2, 0.00012346]);
    expect(back.slice(1)).toEqual(RESULTS);
  });
});
