/** The short form of `npm run soak`: 500 bad files, one after another in one process, as a long day might bring them. */
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/stats/random.ts';
import { textOf } from './base-files.ts';
import { type GoodFile, goodFaults, goodFiles, openParquetCodec } from './good-files.ts';
import { NAMES } from './hostile-cells.ts';
import { badFile, offer } from './intake-case.ts';

const FILES = 500;
/** None of these are of the kinds that take a second each. */
const NO_SLOW = Number.MAX_SAFE_INTEGER;

let good: readonly GoodFile[];
beforeAll(async () => {
  await openParquetCodec();
  good = await goodFiles();
});

describe('a bad file is refused in words, or each of its rows is admitted or set aside', () => {
  it.each([0, 1, 2, 3, 4])(
    `${FILES / 5} of ${FILES}, and a good file after them is read as ever: part %i`,
    async (part) => {
      const faults: string[] = [];
      const outcomes = { refused: 0, asked: 0, read: 0 };
      let setAside = 0;
      for (let n = (part * FILES) / 5; n < ((part + 1) * FILES) / 5; n++) {
        const file = await badFile(n, NO_SLOW);
        const outcome = await offer(file, seededRandom(n));
        outcomes[outcome.outcome]++;
        setAside += outcome.setAside;
        const after = n % 10 === 0 || file.kind.startsWith('Parquet with') ? await goodFaults(good) : [];
        faults.push(...[...outcome.faults, ...after].map((fault) => `file ${n}, ${file.kind}: ${fault}`));
      }
      expect(faults).toEqual([]);
      // The files are bad in earnest: many are refused, and of those read many rows are set aside.
      expect(outcomes.refused).toBeGreaterThan(20);
      expect(outcomes.read).toBeGreaterThan(40);
      expect(setAside).toBeGreaterThan(100);
    },
  );

  it('tables of any cells', async () => {
    const cell = fc.oneof(
      fc.string({ unit: 'binary', maxLength: 10 }),
      fc.constantFrom('H1', '2024-05-01', 'LF', 'RH', '85', '85,5', '3 3/8"', '2', '', ...NAMES.slice(0, 12)),
    );
    const header = ['horse_id', 'visit_date', 'foot', 'toe_before_mm', 'separation_grade'];
    const row = fc.array(cell, { minLength: 1, maxLength: 7 });
    const grids = fc.record({
      header: fc.constant(header),
      rows: fc.array(row, { minLength: 1, maxLength: 6 }),
      delimiter: fc.constantFrom(',', ';', '\t'),
    });
    await fc.assert(
      fc.asyncProperty(grids, async (grid) => {
        const bytes = new TextEncoder().encode(textOf(grid));
        expect((await offer({ name: 'visits.csv', bytes }, seededRandom(1))).faults).toEqual([]);
      }),
      { numRuns: 100, seed: 20_261 },
    );
  });
});

describe('inputs that once did harm', () => {
  const admit = async (text: string) => {
    const outcome = await offer(
      { name: 'visits.csv', bytes: new TextEncoder().encode(text) },
      seededRandom(1),
    );
    expect(outcome.faults).toEqual([]);
    return outcome;
  };
  const HEADER = 'horse_id,visit_date,foot,terrain,toe_before_mm\n';

  it('a cell of 10 MB of letters: a pattern overflowed the stack', async () => {
    const long = 'a '.repeat(5 << 20);
    expect(await admit(`${HEADER}H1,2024-05-01,LF,${long},85\nH2,2024-05-01,LF,soft,85\n`)).toMatchObject({
      admitted: 1,
      setAside: 1,
    });
  });

  it('a long run of spaces within a cell: patterns of dates, lengths and units took minutes', async () => {
    const long = `8${' '.repeat(1 << 20)}x`;
    expect(await admit(`${HEADER}H1,${long},LF,soft,85\nH2,2024-05-01,LF,soft,${long}\n`)).toMatchObject({
      setAside: 2,
    });
  });

  it('a quotation mark at the start of each of 20,000 lines: each cost a look at all that followed', async () => {
    const outcome = await admit(`${HEADER}${'"H1,2024-05-01,LF,soft,85\n'.repeat(20_000)}`);
    expect(outcome).toMatchObject({ rowsRead: 20_000, setAside: 20_000 });
  });

  it('a quoted cell over 100,000 lines: each was a row set aside, with a cell in every column', async () => {
    const outcome = await admit(
      `${HEADER}H1,2024-05-01,LF,"${'x\n'.repeat(100_000)}",85\nH2,2024-05-01,LF,soft,85\n`,
    );
    // The line that opens the cell, the lines in it, and the one that closes it.
    expect(outcome).toMatchObject({ rowsRead: 100_002, admitted: 1, setAside: 100_001 });
    expect(outcome.combined?.setAside.rowCount).toBeLessThan(10_010);
  });

  it('a first line of a million cells: each column took room, and there was none for so many', async () => {
    expect(await admit(`${','.repeat(1_000_000)}x\n1\n`)).toMatchObject({ outcome: 'refused' });
  });
});
