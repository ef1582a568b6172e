import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { numbers, rowsOf, type Table, texts } from '../../src/core/table.ts';
import { combine } from '../../src/intake/combine.ts';
import { mappingProblems } from '../../src/intake/mapping.ts';
import { inspectFile } from '../../src/intake/open.ts';
import { readSource } from '../../src/intake/read.ts';
import { IntakeRefusal } from '../../src/intake/refusal.ts';
import { admit, admitText, bytesOf, TODAY } from './admit.ts';

/** Line and reason of everything set aside. */
function reasons(setAside: Table): string[] {
  return rowsOf(setAside).map((row) => `${row.line}: ${row.reason}`);
}

const HEAD = 'horse_id,visit_date,foot,toe_before_mm,toe_after_mm,crack_grade\n';

describe('rows', () => {
  it('with one bad cell are set aside whole, each fault named once', async () => {
    const { admitted, setAside, report } = await admitText(
      `${HEAD}a,2026-03-09,LF,80,75,0\na,2026-02-31,RF,long,75,9\n,2026-03-09,RF,80,75,0\n`,
    );
    expect(texts(admitted, 'foot')).toEqual(['LF']);
    expect(reasons(setAside)).toEqual([
      '3: no such day in the calendar: 2026-02-31',
      '3: not a length: long',
      '3: no such grade: 9',
      '4: horse is missing',
    ]);
    expect([...numbers(setAside, 'set_aside_row')]).toEqual([1, 1, 1, 2]);
    expect(rowsOf(setAside)[1]).toEqual({
      set_aside_row: 1,
      rows: 1,
      file: 'visits.csv',
      line: 3,
      foot: 'RF',
      column: 'toe_before_mm',
      value: 'long',
      reason: 'not a length: long',
      accepted: '30 to 180 mm',
      horse_id: 'a',
      raw: 'a,2026-02-31,RF,long,75,9',
    });
    expect(report).toMatchObject({ rowsRead: 3, admitted: 1, setAside: 2, identityHolds: true });
  });

  it('with a toe more than 3 mm longer after the trim are set aside', async () => {
    const { admitted, setAside } = await admitText(
      `${HEAD}a,2026-03-09,LF,80,83,0\na,2026-03-09,RF,80,83.1,0\na,2026-03-09,LH,,83,0\n`,
    );
    expect(texts(admitted, 'foot')).toEqual(['LF', 'LH']);
    expect(reasons(setAside)).toEqual([
      '3: the toe is 3.1 mm longer after the trim (83.1 mm) than before (80 mm): the two may be swapped',
    ]);
  });

  it('from the future, and from before 1980, are set aside; today is admitted', async () => {
    const { admitted, setAside } = await admitText(
      `${HEAD}a,2026-11-25,LF,80,75,0\na,2026-11-26,RF,80,75,0\na,1979-12-31,LH,80,75,0\n`,
    );
    expect(admitted.rowCount).toBe(1);
    expect(reasons(setAside)).toEqual(['3: in the future: 2026-11-26', '4: before 1980: 1979-12-31']);
  });

  it('that are the same are admitted once, however they are written', async () => {
    const { admitted, setAside } = await admitText(
      `${HEAD}a,2026-03-09,LF,80,75,0\na,2026-03-09,left fore,8 cm,75.0,none\na,2026-03-09,LF,80,75,0\n`,
    );
    expect([...numbers(admitted, 'source_line')]).toEqual([2]);
    expect(reasons(setAside)).toEqual(['3: the same as line 2', '4: the same as line 2']);
  });

  it('that differ about a foot on a day are all set aside, each naming the others', async () => {
    const { admitted, setAside, report } = await admitText(
      `${HEAD}a,2026-03-09,LF,80,75,0\na,2026-03-09,LF,81,75,0\na,2026-03-09,RF,81,75,0\na,2026-03-09,LF,80,75,0\n`,
    );
    expect(texts(admitted, 'foot')).toEqual(['RF']);
    expect(reasons(setAside)).toEqual([
      '2: differs from line 3, line 5 about this foot on this day',
      '3: differs from line 2, line 5 about this foot on this day',
      '5: differs from line 2, line 3 about this foot on this day',
    ]);
    expect(report.identityHolds).toBe(true);
  });

  it('are compared across files', async () => {
    const { admitted, setAside } = await admit([
      { name: 'one.csv', text: `${HEAD}a,2026-03-09,LF,80,75,0\nb,2026-03-09,LF,80,75,0\n` },
      { name: 'two.csv', text: 'Horse;Date;Foot;Toe (cm)\na;2026-03-09;LF;8,4\nc;2026-03-09;LF;8,4\n' },
      { name: 'three.csv', text: `${HEAD}b,2026-03-09,LF,80,75,0\n` },
    ]);
    expect(rowsOf(admitted).map((r) => [r.horse_id, r.source_file, r.source_line])).toEqual([
      ['b', 'one.csv', 2 + 1],
      ['c', 'two.csv', 3],
    ]);
    expect(rowsOf(setAside).map((r) => [r.file, r.reason])).toEqual([
      ['one.csv', 'differs from line 2 of two.csv about this foot on this day'],
      ['two.csv', 'differs from line 2 of one.csv about this foot on this day'],
      ['three.csv', 'the same as line 3 of one.csv'],
    ]);
  });

  it('keep every cell of the original, used or not', async () => {
    const { setAside } = await admitText('horse;date;foot;Colour;notes\na;nope;LF;bay;"x; ""y""\nz"\n');
    expect(texts(setAside, 'raw')).toEqual(['a;nope;LF;bay;"x; ""y""\nz"']);
    const stray = await admitText(
      `${HEAD}a,2026-03-09,LF,80,75,0\n"a,2026-03-10,LF,80,75,0\nb,2026-03-09,LF,80,75,0\n`,
    );
    expect(texts(stray.setAside, 'raw')).toEqual(['"a,2026-03-10,LF,80,75,0']);
    expect(stray.admitted.rowCount).toBe(2);
  });
});

describe('notices', () => {
  it('quote what stands above the header', async () => {
    const { report } = await admitText(`Moor Farm,,,,,\n${HEAD}a,2026-03-09,LF,80,75,0\n`);
    expect(report.notices).toEqual([
      'visits.csv: not read as rows, as it stands above the header: “Moor Farm”.',
    ]);
    expect(report.rowsRead).toBe(1);
  });

  it('name horses of the horses file that no admitted visit is about', async () => {
    const horses = { name: 'horses.csv', text: 'horse_id,breed\na,Shire\nb,Fell\nc,Fell\n' };
    const visits = { name: 'visits.csv', text: `${HEAD}a,2026-03-09,LF,80,75,0\nb,nope,LF,80,75,0\n` };
    const { report } = await admit([visits, horses]);
    expect(report.notices).toEqual([
      '2 horses in the horses file without a visit that was admitted: “b”, “c”.',
    ]);
    // Alone it says nothing of visits.
    expect((await admit([horses])).report.notices).toEqual([]);
  });

  it('name horses that are written almost alike', async () => {
    const { report } = await admitText(
      `${HEAD}Zoé,2026-03-09,LF,80,75,0\nzoe ,2026-03-09,LF,80,75,0\nA1,2026-03-09,LF,80,75,0\n`,
    );
    expect(report.notices).toEqual(['Read as different horses, though written almost alike: “Zoé”, “zoe”.']);
  });
});

describe('wide rows', () => {
  const wide = 'horse,date,LF toe,RF toe,LH toe,RH toe,LF thrush,terrain\n';

  it('make a row for each foot with something recorded', async () => {
    const { admitted, report } = await admitText(`${wide}a,2026-03-09,80,,78,,1,soft\n`);
    expect(rowsOf(admitted).map((r) => [r.foot, r.toe_before_mm, r.fungal_frog_grade, r.terrain])).toEqual([
      ['LF', 80, 1, 'soft'],
      ['LH', 78, null, 'soft'],
    ]);
    expect(report.files[0]).toMatchObject({ sourceRows: 1, unusableRows: 0, rowsRead: 2, emptyFeet: 2 });
  });

  it('lose only the foot with the bad cell, or all that have something where the date is bad', async () => {
    const { admitted, setAside, report } = await admitText(
      `${wide}a,2026-03-09,80,850,78,79,1,soft\nb,nope,80,81,,,1,soft\n`,
    );
    expect(texts(admitted, 'foot')).toEqual(['LF', 'LH', 'RH']);
    expect(rowsOf(setAside).map((r) => [r.foot, r.column])).toEqual([
      ['RF', 'RF toe'],
      ['LF', 'date'],
      ['RF', 'date'],
    ]);
    expect(report).toMatchObject({ rowsRead: 6, admitted: 3, setAside: 3, identityHolds: true });
  });

  it('with nothing about any foot are set aside as they are', async () => {
    const { setAside, report } = await admitText(`${wide}a,2026-03-09,,,,,,soft\n`);
    expect(reasons(setAside)).toEqual(['2: nothing is recorded for any foot']);
    expect(report.files[0]).toMatchObject({ sourceRows: 1, unusableRows: 1, rowsRead: 1, emptyFeet: 0 });
  });
});

describe('a horses file', () => {
  const visits = { name: 'visits.csv', text: `${HEAD}a,2026-03-09,LF,80,75,0\nz,2026-03-09,LF,80,75,0\n` };

  it('gives horses of its own, repeats judged, and tells which horses it lacks', async () => {
    const { horses, setAside, report, admitted } = await admit([
      visits,
      {
        name: 'horses.csv',
        text: 'horse_id,breed,born\na,Shire,2014\nb,Fell,2010\nb,Fell,2011\na,shire ,2014\na,Shire,2014\n',
      },
    ]);
    // 'Shire' and 'shire' differ as written: nothing says which is meant.
    expect(texts(horses, 'horse_id')).toEqual([]);
    expect(setAside.rowCount).toBe(5);
    expect(admitted.rowCount).toBe(2);
    expect(report).toMatchObject({ rowsRead: 7, admitted: 2, setAside: 5, identityHolds: true });
  });

  it('notices what is missing, and sets nothing aside for it', async () => {
    const { horses, report } = await admit([
      visits,
      { name: 'horses.csv', text: 'horse_id,breed,weight lb\na,Heinz,"1,150"\n' },
    ]);
    expect(rowsOf(horses)).toMatchObject([{ horse_id: 'a', breed: 'Heinz', source_line: 2 }]);
    expect(numbers(horses, 'body_mass_kg')[0]).toBeCloseTo(521.631, 3);
    expect(report.notices).toEqual([
      '1 horse in the visits but not in the horses file: “z”.',
      '1 breed of no known type, left without one: “Heinz”.',
    ]);
    expect(report.setAside).toBe(0);
  });
});

describe('the accounting identity', () => {
  const cell = fc.oneof(
    fc.constantFrom(
      'a',
      'b',
      '',
      '2026-03-09',
      '9/3/2026',
      '31/02/2026',
      'LF',
      'RH',
      '80',
      '8 1/2',
      '9',
      '"',
      'x\ny',
      ';',
      'n/a',
    ),
    fc.string({ maxLength: 5 }),
  );
  const header = fc.constantFrom(
    ['horse', 'date', 'foot', 'toe', 'toe after', 'crack'],
    ['horse', 'date', 'LF toe', 'RF toe', 'LH thrush', 'notes'],
    ['horse', 'breed', 'born', 'weight', 'sex', 'name'],
  );
  const likely = fc.tuple(
    fc.constantFrom('a', 'b'),
    fc.constantFrom('2026-03-09', '2026-04-09'),
    fc.constantFrom('LF', 'RF', '80'),
    fc.constantFrom('80', '81', ''),
    fc.constantFrom('75', '90', ''),
    fc.constantFrom('0', '7', ''),
  );
  const row = fc.oneof(likely, fc.array(cell, { minLength: 1, maxLength: 8 }));

  it('holds for any file: rows read = admitted + set aside, and no source row is lost', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.tuple(header, fc.array(row, { maxLength: 12 })), { minLength: 1, maxLength: 2 }),
        async (files) => {
          const reads = [];
          for (const [k, [names, rows]] of files.entries()) {
            const text = [names, ...rows].map((cells) => cells.join(',')).join('\n');
            try {
              const { source, mapping } = await inspectFile({ name: `f${k}.csv`, bytes: bytesOf(text) });
              const settled = {
                ...mapping,
                dateOrder: mapping.dateOrder === 'ask' ? ('day-first' as const) : mapping.dateOrder,
                columns: mapping.columns.map((c) =>
                  c.unit === null && c.target?.endsWith('_mm') ? { ...c, unit: 'mm' as const } : c,
                ),
              };
              fc.pre(mappingProblems(settled).length === 0);
              reads.push(await readSource(source, settled, { today: TODAY }));
            } catch (error) {
              if (!(error instanceof IntakeRefusal)) throw error; // a refused file is told, not lost
            }
          }
          const { admitted, horses, setAside, report } = combine(reads);
          expect(report.identityHolds).toBe(true);
          expect(report.rowsRead).toBe(report.admitted + report.setAside);
          expect(admitted.rowCount + horses.rowCount).toBe(report.admitted);
          expect(new Set(numbers(setAside, 'set_aside_row')).size).toBe(report.setAside);
          // Every source row is seen in one table or the other, by its file and line.
          const seen = new Set<string>();
          for (const table of [admitted, horses]) {
            texts(table, 'source_file').forEach((file, i) => {
              seen.add(`${file} ${numbers(table, 'source_line')[i]}`);
            });
          }
          texts(setAside, 'file').forEach((file, i) => {
            seen.add(`${file} ${numbers(setAside, 'line')[i]}`);
          });
          for (const { source } of reads) {
            for (const line of source.lines) expect(seen.has(`${source.file} ${line}`)).toBe(true);
          }
        },
      ),
      { numRuns: 150 },
    );
  });
});
