/** The parts of `npm run soak` that count and tell: no case is run here. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { casesOfReport } from './browser-report.ts';
import { Ledger, runsToDo } from './ledger.ts';
import type { Outcome } from './messages.ts';
import { failed, tableOf } from './tally.ts';

const outcome = (more: Partial<Outcome>): Outcome => ({
  part: 'files',
  n: 0,
  kinds: ['any bytes'],
  ms: 100,
  faults: [],
  counts: { lost: 0 },
  ...more,
});

describe('the table', () => {
  it('has a sum above each part, what was lost, and what came of it', () => {
    const outcomes = [
      outcome({ counts: { refused: 1, rowsRead: 0, lost: 0 } }),
      outcome({
        n: 1,
        kinds: ['ragged rows'],
        counts: { read: 1, rowsRead: 1000, admitted: 996, setAside: 3, lost: 1 },
        faults: ['1 lost'],
        ms: 2340,
      }),
      outcome({ part: 'herds', kinds: ['one horse', 'no events'], counts: { answered: 3, sentences: 4 } }),
    ];
    const rows = tableOf(outcomes)
      .split('\n')
      .map((line) =>
        line
          .split('|')
          .map((cell) => cell.trim())
          .slice(1, -1),
      );
    expect(rows[0]?.slice(0, 6)).toEqual([
      'what was tried',
      'times',
      'survived',
      'failed',
      'lost',
      'slowest, s',
    ]);
    expect(rows.slice(2)).toEqual([
      [
        'BAD FILES offered to intake',
        '2',
        '1',
        '1',
        '1',
        '2.3',
        '1 refused in a sentence, 1 read, 1,000 rows = 996 admitted + 3 set aside',
      ],
      ['files: any bytes', '1', '1', '0', '0', '0.1', '1 refused in a sentence'],
      ['files: ragged rows', '1', '0', '1', '1', '2.3', '1 read, 1,000 rows = 996 admitted + 3 set aside'],
      ['ODD HERDS asked every question', '1', '1', '0', '', '0.1', '3 answers with a number, 4 in words'],
      ['herds: no events', '1', '1', '0', '', '0.1', '3 answers with a number, 4 in words'],
      ['herds: one horse', '1', '1', '0', '', '0.1', '3 answers with a number, 4 in words'],
    ]);
    expect(failed(outcomes)).toBe(1);
  });
});

describe('the ledger', () => {
  const folder = mkdtempSync(join(tmpdir(), 'ledger-'));
  afterAll(() => rmSync(folder, { recursive: true }));

  it('goes on where a run was ended: what failed is tried again, a line cut short is nothing', () => {
    const path = join(folder, 'cases.jsonl');
    const first = new Ledger(path);
    first.add(outcome({ n: 0 }));
    first.add(outcome({ n: 1, faults: ['hung'] }));
    writeFileSync(path, `${readFileSync(path, 'utf8')}{"part":"files","n":2,"ki`);
    const second = new Ledger(path);
    expect([0, 1, 2].map((n) => second.has('files', n))).toEqual([true, false, false]);
    second.add(outcome({ n: 1 }));
    expect(new Ledger(path).has('files', 1)).toBe(true);
    expect(new Ledger(path).all()).toHaveLength(2);
  });

  it('leaves runs of numbers to do, none twice', () => {
    const done = new Set([3, 4, 7]);
    expect(runsToDo(2, 8, 1, (n) => done.has(n))).toEqual([
      [2, 3],
      [5, 7],
      [8, 10],
    ]);
    expect(runsToDo(0, 10, 4, () => false)).toEqual([
      [0, 3],
      [3, 6],
      [6, 9],
      [9, 10],
    ]);
    expect(runsToDo(0, 3, 2, () => true)).toEqual([]);
  });
});

describe('the report of the browser’s tests', () => {
  const report = (
    status: string,
    descriptions: readonly string[],
    message?: string,
    errors: readonly object[] = [],
  ): string =>
    JSON.stringify({
      suites: [
        {
          suites: [],
          specs: [
            {
              tests: [
                {
                  results: [
                    {
                      status,
                      annotations: descriptions.map((description) => ({ type: 'survived', description })),
                      errors: message ? [{ message }] : [],
                    },
                  ],
                },
              ],
            },
          ],
        },
      ],
      errors,
    });
  const TWO = ['1200 ms: tab gone in the middle of edit', '900 ms: herd gone in the middle of save'];

  it('gives each case that was survived', () => {
    const cases = casesOfReport('faults', 25, 2, report('passed', TWO), '');
    expect(cases.map(({ n, kinds, ms, faults }) => [n, kinds, ms, faults])).toEqual([
      [25, ['tab gone in the middle of edit'], 1200, []],
      [26, ['herd gone in the middle of save'], 900, []],
    ]);
  });

  it.each([
    ['failed at the third', report('failed', TWO, 'not kept'), 4, [0, 1, 2], 'not kept'],
    ['failed after the last', report('failed', TWO, 'a console error'), 2, [0, 1], 'a console error'],
    [
      'passed while something left the origin',
      report('passed', TWO, undefined, [{ message: 'something left' }]),
      2,
      [0, 1],
      'something left',
    ],
    ['passed with fewer than were asked', report('passed', TWO), 3, [0, 1, 2], 'server log'],
    [
      'had no test',
      JSON.stringify({ suites: [], errors: [{ message: 'port taken' }] }),
      4,
      [0],
      'port taken',
    ],
    ['made no report', null, 4, [0], 'server log'],
  ] as const)('tells of a run: it %s', (_, text, cases, numbers, words) => {
    const told = casesOfReport('kills', 0, cases, text, 'server log');
    expect(told.map(({ n }) => n)).toEqual(numbers);
    expect(told.slice(0, -1).every(({ faults }) => faults.length === 0)).toBe(true);
    expect(told.at(-1)?.faults).toEqual([words]);
  });
});
