import fc from 'fast-check';
import Papa from 'papaparse';
import { describe, expect, it } from 'vitest';
import { openDelimited } from '../../src/intake/csv-source.ts';
import { detectDelimiter } from '../../src/intake/delimiter.ts';
import { detectEncoding, textPieces } from '../../src/intake/encoding.ts';
import { type RawRecord, RecordReader } from '../../src/intake/records.ts';
import { rawCell, type Source } from '../../src/intake/source.ts';
import { bytesOf } from './admit.ts';
import { windows1252 } from './messy.ts';

function utf16(text: string, order: 'le' | 'be', mark: boolean): Uint8Array {
  const units = [...(mark ? ['\ufeff'] : []), ...text].join('');
  const view = new DataView(new ArrayBuffer(units.length * 2));
  for (let i = 0; i < units.length; i++) view.setUint16(i * 2, units.charCodeAt(i), order === 'le');
  return new Uint8Array(view.buffer);
}

function recordsOf(text: string, pieceLength = text.length): RawRecord[] {
  const records: RawRecord[] = [];
  const reader = new RecordReader(',', (record) => records.push(record));
  for (let at = 0; at < text.length; at += Math.max(pieceLength, 1))
    reader.push(text.slice(at, at + pieceLength));
  reader.end();
  return records;
}

function cellsOf(source: Source): unknown[][] {
  return Array.from({ length: source.rowCount }, (_, row) => source.columns.map((c) => rawCell(c, row)));
}

describe('encodings', () => {
  const text = 'horse,note\nZoé,"naïve; señor"\nÅke,ok\n';
  it.each([
    ['utf-8', bytesOf(text)],
    ['utf-8', bytesOf(`\ufeff${text}`)],
    ['utf-16le', utf16(text, 'le', true)],
    ['utf-16be', utf16(text, 'be', true)],
    ['utf-16le', utf16(text, 'le', false)],
    ['utf-16be', utf16(text, 'be', false)],
    ['windows-1252', windows1252(text)],
  ] as const)('%s is found and read', async (encoding, bytes) => {
    const source = await openDelimited('x.csv', bytes);
    expect(source.encoding?.encoding).toBe(encoding);
    expect(source.columns.map((c) => c.name)).toEqual(['horse', 'note']);
    expect(cellsOf(source)).toEqual([
      ['Zoé', 'naïve; señor'],
      ['Åke', 'ok'],
    ]);
  });

  it('reads what only Windows-1252 has', () => {
    const bytes = Uint8Array.of(0x33, 0x94, 0x20, 0x80, 0x20, 0xbd); // 3” € ½
    const { encoding } = detectEncoding(bytes);
    expect([...textPieces(bytes, encoding)].map((p) => p.text).join('')).toBe('3” € ½');
  });

  it('joins pieces cut inside a character and inside a line end', () => {
    const bytes = bytesOf('a,é\r\nb,星\rc,d\n');
    for (let size = 1; size < bytes.length; size++) {
      const joined = [...textPieces(bytes, 'utf-8', size)].map((p) => p.text).join('');
      expect(joined).toBe('a,é\nb,星\nc,d\n');
    }
  });
});

describe('separators', () => {
  it.each([
    [',', 'a,b,c\n1,2,3\n'],
    [';', 'a;b;c\n1,5;2,5;3,5\n1,5;2,5;3,5\n'],
    ['\t', 'a\tb\n1\t2\n'],
    [';', 'a;b\n"x,y,z";1\n"p,q,r";2\n'],
    [',', 'a,b\n"x;y",1\n"p;q",2\n'],
  ])('%j is found', (delimiter, text) => {
    expect(detectDelimiter(text).delimiter).toBe(delimiter);
  });

  it('a first line that states it is heeded and is no row', async () => {
    const source = await openDelimited('x.csv', bytesOf('sep=;\r\nhorse;note, long\r\na;b\r\n'));
    expect(source.delimiter).toEqual({ delimiter: ';', why: 'the first line says so' });
    expect(cellsOf(source)).toEqual([['a', 'b']]);
    expect([...source.lines]).toEqual([3]);
  });
});

describe('lines above the header', () => {
  it('are kept apart, and the rows keep their line numbers', async () => {
    const text = 'Visits of Moor Farm;;\n;;\nExported 9 March 2026;;\nHorse;Date;Foot\na;9/3/2026;LF\n';
    const source = await openDelimited('x.csv', bytesOf(text));
    expect(source.titles).toEqual(['Visits of Moor Farm;;', ';;', 'Exported 9 March 2026;;']);
    expect(source.columns.map((c) => c.name)).toEqual(['Horse', 'Date', 'Foot']);
    expect([...source.lines]).toEqual([5]);
  });

  it.each([
    ['a header that is known', 'horse,Colour\nhorse,foot\n'],
    ['a header that is not, above cells that are not', 'Hest,Farve\na,brun\n'],
  ])('are not seen in %s', async (_, text) => {
    const source = await openDelimited('x.csv', bytesOf(text));
    expect([source.titles, source.rowCount]).toEqual([[], 1]);
  });
});

describe('records', () => {
  it('count physical lines through quoted line breaks and blank lines', async () => {
    const source = await openDelimited('x.csv', bytesOf('h,n\n\na,"one\ntwo\nthree"\n\n,\nb,x\n'));
    expect(cellsOf(source)).toEqual([
      ['a', 'one\ntwo\nthree'],
      ['b', 'x'],
    ]);
    expect([...source.lines]).toEqual([3, 8]);
  });

  it('keep a row with too few or too many cells whole, and forgive a trailing separator', async () => {
    const source = await openDelimited('x.csv', bytesOf('h,n\na\nb,x,y\nc,z,\n'));
    expect([...source.broken.entries()]).toEqual([
      [0, { cells: ['a'], reason: 'too few cells: 1 where the header has 2', stray: false }],
      [1, { cells: ['b', 'x', 'y'], reason: 'too many cells: 3 where the header has 2', stray: false }],
    ]);
    expect(cellsOf(source)[2]).toEqual(['c', 'z']);
  });

  it('lose one line, not the rest of the file, to a quotation mark that never closes', async () => {
    const rows = Array.from({ length: 200 }, (_, i) => (i === 20 ? '"oops,20' : `r${i},${i}`));
    const source = await openDelimited('x.csv', bytesOf(`h,n\n${rows.join('\n')}\n`));
    expect(source.rowCount).toBe(200);
    expect([...source.broken.keys()]).toEqual([20]);
    expect(source.broken.get(20)?.cells).toEqual(['"oops', '20']);
    expect(source.lines[20]).toBe(22);
    expect(cellsOf(source)[199]).toEqual(['r199', '199']);
  });

  it.each([
    ['a quoted cell', (i: number) => `r${i},"${i}",x,y`],
    ['an inch mark at its end', (i: number) => `r${i},${i},x,3-3/8"`],
  ])('lose one line where the mark seems to close at %s further on', async (_, row) => {
    const rows = Array.from({ length: 40 }, (_row, i) => (i === 20 ? 'r20,20,x,"oops' : row(i)));
    const source = await openDelimited('x.csv', bytesOf(`h,n,m,l\n${rows.join('\n')}\n`));
    expect(source.rowCount).toBe(40);
    expect([...source.broken.keys()]).toEqual([20]);
    expect(cellsOf(source)[21]?.[0]).toBe('r21');
  });

  it('lose one line where the mark seems to close a page further on', async () => {
    const rows = Array.from({ length: 200 }, (_, i) =>
      i === 20 ? 'r20,"oops' : i === 150 ? 'r150,3"' : `r${i},${i}`,
    );
    const source = await openDelimited('x.csv', bytesOf(`h,n\n${rows.join('\n')}\n`));
    expect(source.rowCount).toBe(200);
    expect([...source.broken.keys()]).toEqual([20]);
  });

  it('keep a note over several lines that has separators in it', async () => {
    const source = await openDelimited(
      'x.csv',
      bytesOf('h,n,m,l\na,1,2,"flare, left\nbars, both\nsole, thin"\n'),
    );
    expect(cellsOf(source)[0]?.[3]).toBe('flare, left\nbars, both\nsole, thin');
  });

  it('keep an inch mark inside a cell', () => {
    expect(recordsOf('3-3/8",x\n"3-3/8""",y\n').map((r) => r.cells)).toEqual([
      ['3-3/8"', 'x'],
      ['3-3/8"', 'y'],
    ]);
  });

  it('are the same however the text is cut, and as papaparse reads them whole', () => {
    const cell = fc.oneof(
      fc.string({ maxLength: 6 }),
      fc.constantFrom('a"b', '"', 'x,y', 'one\ntwo', '""', ' '),
    );
    const table = fc.array(fc.array(cell, { minLength: 1, maxLength: 4 }), { minLength: 1, maxLength: 6 });
    fc.assert(
      fc.property(table, fc.integer({ min: 1, max: 9 }), (rows, size) => {
        const clean = rows.map((cells) => cells.map((c) => c.replaceAll('\r', '')));
        const text = Papa.unparse(clean, { newline: '\n', quotes: true });
        for (const whole of [text, `${text}\n`]) {
          const records = recordsOf(whole, size);
          expect(records.map((r) => r.cells)).toEqual(clean);
          expect(records.some((r) => r.stray)).toBe(false);
        }
      }),
    );
  });

  it('lose no line of any text, however broken', () => {
    const mess = fc.array(fc.constantFrom('a', '"', ',', '\n', '""', ' ', '1'), { maxLength: 60 });
    fc.assert(
      fc.property(mess, fc.integer({ min: 1, max: 7 }), (parts, size) => {
        const text = parts.join('');
        const records = recordsOf(text, size);
        const spanned = records.reduce((sum, r) => sum + 1 + (r.stray ? 0 : breaks(r.cells)), 0);
        const physical = text === '' ? 0 : text.replace(/\n$/, '').split('\n').length;
        expect(spanned).toBe(physical);
        records.forEach((r, i) => {
          const next = records[i + 1];
          if (next) expect(next.line).toBe(r.line + 1 + (r.stray ? 0 : breaks(r.cells)));
        });
      }),
    );
  });
});

function breaks(cells: readonly string[]): number {
  return cells.join('').split('\n').length - 1;
}

describe('a long read', () => {
  const bytes = bytesOf(`h,n\n${'a,b\n'.repeat(800_000)}`);
  it('reports progress up to the whole', async () => {
    const seen: number[] = [];
    await openDelimited('x.csv', bytes, { progress: (fraction) => seen.push(fraction) });
    expect(seen.length).toBeGreaterThan(1);
    expect(seen).toEqual([...seen].sort((a, b) => a - b));
    expect(seen.at(-1)).toBe(1);
  });
  it('stops when told to', async () => {
    const stop = new AbortController();
    const reading = openDelimited('x.csv', bytes, { signal: stop.signal, progress: () => stop.abort() });
    await expect(reading).rejects.toThrow(/abort/i);
  });
});
