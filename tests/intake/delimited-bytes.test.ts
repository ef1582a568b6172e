import { describe, expect, it } from 'vitest';
import { carefully, openDelimited, quickly } from '../../src/intake/csv-source.ts';
import { IrregularQuoting } from '../../src/intake/plain-lines.ts';
import { rawCell, type Source } from '../../src/intake/source.ts';
import { bytesOf } from './admit.ts';

const cellsOf = (source: Source): unknown[][] =>
  Array.from({ length: source.rowCount }, (_, row) => source.columns.map((column) => rawCell(column, row)));

const told = (source: Source): unknown => [
  source.encoding,
  source.columns.map(({ name }) => name),
  cellsOf(source),
  [...source.lines],
];

function utf16(text: string): Uint8Array {
  const units = Uint16Array.from({ length: text.length + 1 }, (_, i) =>
    i === 0 ? 0xfeff : text.charCodeAt(i - 1),
  );
  return new Uint8Array(units.buffer);
}

describe('a delimited file by its bytes', () => {
  it.each([
    ['line ends of three kinds', 'a,b\r\n1,2\r3,4\n5,"6\r7"\r\n\r8,\r'],
    ['quoted cells of every kind', 'a,b\n"1","2"\n"","x"\n"3, 4",5\n"say ""so""",6\n"7"\n'],
    ['blank cells and lines', 'a,b\n ,\n\u00a0,\u3000\n,x\n""," "\n\u00e9,\n'],
    [
      'doubled quotation marks',
      'a,b\n"""",""\n"5""",5""\n"""so"", he said",x\n"a"",b",c\n5"",""""""\n"a""\nb",c\n',
    ],
    ['one and many cells in four bytes', 'a,b,c\n,-,--\n-,,-\n1,,\n,,1\n12345,1234,123\n,,,,,,,1\n1,1,1'],
    ['signs below the separator', 'a;b\n1\t;-2\n ;:\n#;\u0001;\n'],
    [
      'as many cells as are taken apart, and more',
      [
        Array.from({ length: 4096 }, (_, i) => `h${i}`).join(),
        `${'7,'.repeat(4095)}8`,
        `"6",${'7,'.repeat(4094)}9`,
        ',7'.repeat(4200),
      ].join('\n'),
    ],
    ['characters of one to four bytes', 'a,b\né,星\n😀,"😀"\n€,é\n'],
  ])('with %s is read as the careful way reads it', async (_, text) => {
    for (const bytes of [bytesOf(text), bytesOf(`\ufeff${text}`), utf16(text)]) {
      const expected = told(await carefully('x.csv', bytes));
      for (const piece of [1, 2, 5, 1000])
        expect(told(await quickly('x.csv', bytes, {}, piece))).toEqual(expected);
    }
  });

  it('keeps a pair of surrogates cut where a piece of UTF-16 ends', async () => {
    // The mark and the header are 5 units of the 2 ** 19 in the first piece; 😀 takes its last and one more.
    const cell = `${'x'.repeat(2 ** 19 - 6)}😀`;
    const source = await openDelimited('x.csv', utf16(`a,b\n${cell},y\n`));
    expect(cellsOf(source)).toEqual([[cell, 'y']]);
  });

  it('is Windows-1252 where one cell anywhere is not UTF-8', async () => {
    const rows = Array.from({ length: 500 }, (_, i) => `${i},ok\n`).join('');
    for (const text of [`h,n\n${rows}`, `Visits\nhorse,date\n${rows}`]) {
      for (const tail of ['Zo?,x\n', '1,"?"\n', '1,2,?\n']) {
        const bytes = bytesOf(text + tail);
        bytes[bytes.lastIndexOf('?'.charCodeAt(0))] = 0xeb;
        const source = await openDelimited('x.csv', bytes);
        expect(source.encoding?.encoding).toBe('windows-1252');
        expect(told(source)).toEqual(told(await carefully('x.csv', bytes)));
      }
    }
  });

  it('is told by its title too', async () => {
    const bytes = bytesOf('Zo? of Moor Farm\nhorse,date\na,2026-03-09\n');
    bytes[2] = 0xeb;
    const source = await openDelimited('x.csv', bytes);
    expect([source.encoding?.encoding, source.titles]).toEqual(['windows-1252', ['Zoë of Moor Farm']]);
  });

  it('with a stated separator of several bytes is left to the careful way', async () => {
    const bytes = bytesOf('sep=¦\na¦b\n1¦2\n');
    await expect(quickly('x.csv', bytes)).rejects.toThrow(IrregularQuoting);
    expect(cellsOf(await openDelimited('x.csv', bytes))).toEqual([['1', '2']]);
  });

  it('counts the rows of each text, and widens its codes as texts become many', async () => {
    const source = await openDelimited(
      'x.csv',
      bytesOf(`n,few\n${Array.from({ length: 70_000 }, (_, i) => `${i},${i % 3}`).join('\n')}`),
    );
    const [many, few] = source.columns;
    expect(many?.codes).toEqual(Int32Array.from({ length: 70_000 }, (_, i) => i));
    expect(few?.codes).toBeInstanceOf(Uint8Array);
    expect([...(few?.counts ?? [])]).toEqual([23_334, 23_333, 23_333]);
  });
});
