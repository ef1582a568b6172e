import fc from 'fast-check';
import Papa from 'papaparse';
import { describe, expect, it } from 'vitest';
import { booleanColumn, dayColumn, makeTable, numberColumn, textColumn } from '../../src/core/table.ts';
import { csvPieces, tableToCsv } from '../../src/intake/csv-out.ts';

describe('tableToCsv', () => {
  it('writes each kind of column plainly, missing as empty', () => {
    const table = makeTable({
      horse: textColumn(['Zoé', null, 'a "b", c\nd']),
      day: dayColumn([20_521, null, 0]),
      toe: numberColumn([85.725, null, -0.5]),
      treated: booleanColumn([true, null, false]),
    });
    expect(tableToCsv(table)).toBe(
      'horse,day,toe,treated\r\nZoé,2026-03-09,85.725,true\r\n,,,\r\n"a ""b"", c\nd",1970-01-01,-0.5,false\r\n',
    );
    expect(tableToCsv(table, { columns: ['toe'], digits: { toe: 1 } })).toBe('toe\r\n85.7\r\n\r\n-0.5\r\n');
  });

  it.each(['=1+1', '+1', '-1', '@a', '\tx', '\rx', '=a\nb'])('defuses %j in text, in names too', (text) => {
    const [names, cells] = Papa.parse<string[]>(tableToCsv(makeTable({ [text]: textColumn([text]) })), {
      newline: '\r\n',
    }).data;
    expect(names).toEqual([`'${text}`]);
    expect(cells).toEqual([`'${text}`]);
  });

  it('reads back as it was, but for the apostrophes', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.string(), fc.double({ noNaN: true, noDefaultInfinity: true })), {
          minLength: 1,
        }),
        (rows) => {
          const csv = tableToCsv(
            makeTable({
              text: textColumn(rows.map(([t]) => t)),
              number: numberColumn(rows.map(([, n]) => n)),
            }),
          );
          const back = Papa.parse<string[]>(csv, { newline: '\r\n', delimiter: ',' }).data.slice(1, -1);
          expect(back.length).toBe(rows.length);
          rows.forEach(([text, number], i) => {
            expect(back[i]?.[0]).toBe(/^[=+\-@\t\r]/.test(text) ? `'${text}` : text);
            expect(Number(back[i]?.[1])).toBe(number === 0 ? 0 : number);
          });
        },
      ),
    );
  });

  it('comes in pieces that join to the whole', () => {
    const table = makeTable({ n: numberColumn(Array.from({ length: 25_000 }, (_, i) => i)) });
    const pieces = [...csvPieces(table)];
    expect(pieces.length).toBe(4);
    expect(pieces.join('').split('\r\n').length).toBe(25_002);
  });

  it('rejects an unknown column as bad code', () => {
    expect(() => tableToCsv(makeTable({ a: numberColumn([1]) }), { columns: ['b'] })).toThrow(
      /no column b: a/,
    );
  });
});
