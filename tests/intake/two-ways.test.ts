import { describe, expect, it } from 'vitest';
import { carefully, quickly } from '../../src/intake/csv-source.ts';
import { IrregularQuoting } from '../../src/intake/plain-lines.ts';
import { IntakeRefusal } from '../../src/intake/refusal.ts';
import { rawCell, type Source } from '../../src/intake/source.ts';
import { seededRandom } from '../../src/stats/random.ts';

async function readBy(
  way: (file: string, bytes: Uint8Array) => Promise<Source>,
  text: string,
): Promise<unknown> {
  try {
    return told(await way('x.csv', new TextEncoder().encode(text)));
  } catch (error) {
    if (error instanceof IrregularQuoting) return 'irregular';
    if (error instanceof IntakeRefusal) return error.sentence;
    throw error;
  }
}

const told = (source: Source): unknown => ({
  names: source.columns.map(({ name }) => name),
  rows: Array.from({ length: source.rowCount }, (_, row) =>
    source.columns.map((column) => rawCell(column, row)),
  ),
  lines: [...source.lines],
  broken: [...source.broken],
});

const CELLS = [
  '',
  'a',
  'H1',
  '12.5',
  ' ',
  '"q"',
  '"a,b"',
  '"say ""so"""',
  '"two\nlines"',
  '3-3/8"',
  '"open',
  'x"y',
  'é',
  '""',
];

function randomText(random: () => number): string {
  const pick = <T>(of: readonly T[]): T => of[Math.floor(random() * of.length)] as T;
  const tame = random() < 0.6;
  const cells = tame ? CELLS.filter((cell) => !/^"open|x"y|8"$/.test(cell)) : CELLS;
  const width = 1 + Math.floor(random() * 5);
  const end = pick(['\n', '\r\n', '\n']);
  const lines = Array.from({ length: Math.floor(random() * 12) }, () => {
    const cellsHere = random() < 0.9 ? width : 1 + Math.floor(random() * 6);
    return Array.from({ length: cellsHere }, () => pick(cells)).join(',');
  });
  const header = Array.from({ length: width }, (_, k) => `column${k}`).join(',');
  return [header, ...lines].join(end) + (random() < 0.5 ? end : '');
}

/** Stops every seven bytes, so that it goes on from every kind of cell. */
const quicklyInBits = (file: string, bytes: Uint8Array): Promise<Source> => quickly(file, bytes, {}, 7);

describe('the quick way through a delimited file', () => {
  it('reads 500 made files as the careful way does, or says that it cannot', async () => {
    const random = seededRandom(20261125);
    let quick = 0;
    for (let k = 0; k < 500; k++) {
      const text = randomText(() => random.uniform());
      const [byQuick, byCare] = [await readBy(quicklyInBits, text), await readBy(carefully, text)];
      if (byQuick === 'irregular') continue;
      quick++;
      expect(byQuick, JSON.stringify(text)).toEqual(byCare);
    }
    expect(quick).toBeGreaterThan(200);
  });
});
