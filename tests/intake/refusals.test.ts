import { readFileSync } from 'node:fs';
import { beforeAll, describe, expect, it } from 'vitest';
import { makeTable, numberColumn, textColumn } from '../../src/core/table.ts';
import { initParquet, writeParquet } from '../../src/engine/parquet.ts';
import { inspectFile } from '../../src/intake/open.ts';
import { readSource } from '../../src/intake/read.ts';
import { IntakeRefusal } from '../../src/intake/refusal.ts';
import { bytesOf, TODAY } from './admit.ts';

const wasm = new URL('../../node_modules/parquet-wasm/esm/parquet_wasm_bg.wasm', import.meta.url);

async function refusalOf(name: string, bytes: Uint8Array): Promise<IntakeRefusal> {
  const outcome = await inspectFile({ name, bytes }).catch((error: unknown) => error);
  if (!(outcome instanceof IntakeRefusal)) throw new Error(`not refused: ${name}`, { cause: outcome });
  return outcome;
}

describe('a file that is not what it says', () => {
  let parquet: Uint8Array;
  beforeAll(async () => {
    await initParquet(readFileSync(wasm));
    parquet = await writeParquet(makeTable({ horse_id: textColumn(['a']), toe: numberColumn([80]) }));
  });

  const signature = (...bytes: number[]): Uint8Array => Uint8Array.from([...bytes, ...new Array(40).fill(7)]);

  it.each([
    ['nothing.csv', new Uint8Array(), 'empty', /nothing\.csv is empty/],
    ['blank.csv', bytesOf('\n \n;;\n'), 'empty', /is empty/],
    ['mark.csv', Uint8Array.of(0xef, 0xbb, 0xbf), 'empty', /is empty/],
    ['head.csv', bytesOf('horse,date,foot\n'), 'no-rows', /has a header but no rows/],
    ['head.csv', bytesOf('horse,date,foot'), 'no-rows', /has a header but no rows/],
    [
      'twice.csv',
      bytesOf('horse,date,Horse \n1,2,3\n'),
      'same-name-columns',
      /two columns named “Horse” \(columns 1 and 3\)/,
    ],
    ['photo.csv', signature(0x89, 0x50, 0x4e, 0x47), 'picture', /is a picture/],
    ['photo.csv', signature(0xff, 0xd8, 0xff, 0xe0), 'picture', /is a picture/],
    ['letter.csv', bytesOf('%PDF-1.7\n…'), 'pdf', /PDF/],
    ['book.xlsx', signature(0x50, 0x4b, 0x03, 0x04), 'workbook', /save it as CSV first/],
    ['book.csv', bytesOf('PK\u0003\u0004....[Content_Types].xml'), 'workbook', /save it as CSV first/],
    ['pack.zip', signature(0x50, 0x4b, 0x03, 0x04), 'archive', /ZIP archive/],
    ['book.xls', signature(0xd0, 0xcf, 0x11, 0xe0), 'workbook', /save it as CSV first/],
    ['pack.gz', signature(0x1f, 0x8b), 'archive', /compressed/],
    ['noise.csv', Uint8Array.from({ length: 500 }, (_, i) => (i * 37) % 256), 'binary', /cannot be read/],
  ] as const)('%s is refused', async (name, bytes, reason, sentence) => {
    const refusal = await refusalOf(name, bytes);
    expect(refusal.reason).toBe(reason);
    expect(refusal.file).toBe(name);
    expect(refusal.sentence).toMatch(sentence);
    expect(refusal.sentence.startsWith(name)).toBe(true);
  });

  it('a Parquet file cut short is refused, and one damaged inside', async () => {
    expect((await refusalOf('cut.parquet', parquet.subarray(0, parquet.length - 20))).reason).toBe(
      'truncated-parquet',
    );
    expect((await refusalOf('stub.parquet', parquet.subarray(0, 4))).reason).toBe('truncated-parquet');
    const damaged = parquet.slice().fill(0xaa, parquet.length - 60, parquet.length - 8);
    expect((await refusalOf('bad.parquet', damaged)).reason).toBe('unreadable-parquet');
    // The codec lives on after a damaged file.
    expect((await inspectFile({ name: 'good.parquet', bytes: parquet })).rowCount).toBe(1);
  });

  it('a Parquet file without rows is refused', async () => {
    const none = await writeParquet(makeTable({ horse_id: textColumn([]), toe: numberColumn([]) }));
    expect((await refusalOf('none.parquet', none)).reason).toBe('no-rows');
  });

  it('text of other scripts is not taken for binary', async () => {
    const { rowCount } = await inspectFile({
      name: 'x.csv',
      bytes: bytesOf('horse,foot\nЗвезда,LF\n星,RF\n'),
    });
    expect(rowCount).toBe(2);
  });

  it('a mapping that leaves something open is refused with its first sentence', async () => {
    const { source, mapping } = await inspectFile({ name: 'x.csv', bytes: bytesOf('horse,foot\na,LF\n') });
    await expect(readSource(source, mapping, { today: TODAY })).rejects.toThrow(
      /x\.csv: No column holds the visit date\./,
    );
  });
});
