import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { makeTable, textColumn } from '../../src/core/table.ts';
import { planPaste } from '../../src/sheet/paste-plan.ts';
import { readBlock } from '../../src/sheet/read-block.ts';
import { cellsAsText } from '../../src/sheet/rows-as-text.ts';

describe('readBlock', () => {
  it('reads what spreadsheets copy', () => {
    expect(readBlock('a\tb\r\n1\t2\r\n')).toEqual([
      ['a', 'b'],
      ['1', '2'],
    ]);
    expect(readBlock('a\t\n\tb')).toEqual([
      ['a', ''],
      ['', 'b'],
    ]);
    expect(readBlock('"two\nlines"\t"say ""no"""\nx')).toEqual([['two\nlines', 'say "no"'], ['x']]);
    expect(readBlock('a\t')).toEqual([['a', '']]);
    expect(readBlock('')).toEqual([]);
    expect(readBlock('\n')).toEqual([['']]);
  });

  it('takes an inch mark for an inch mark', () => {
    expect(readBlock('3 1/4"\t"\n3 3/8" \t2"')).toEqual([
      ['3 1/4"', '"'],
      ['3 3/8" ', '2"'],
    ]);
  });

  it('gives back every cell that was copied from a grid', () => {
    // A leading quotation mark could be a quotation: grids copy it as it stands.
    const cell = fc.string().filter((text) => !/[\t\r\n]/.test(text) && !text.startsWith('"'));
    fc.assert(
      fc.property(
        fc
          .integer({ min: 1, max: 4 })
          .chain((width) =>
            fc.array(fc.array(cell, { minLength: width, maxLength: width }), { minLength: 1, maxLength: 6 }),
          ),
        (rows) => {
          const names = rows[0]!.map((_, k) => `c${k}`);
          const table = makeTable(
            Object.fromEntries(names.map((name, k) => [name, textColumn(rows.map((row) => row[k]!))])),
          );
          const text = cellsAsText(
            table,
            names.map((name) => ({ name, label: name })),
          );
          // A last empty line cannot be told from a line end, as in any spreadsheet.
          expect(readBlock(`${text}\n`)).toEqual(rows);
        },
      ),
    );
  });
});

describe('planPaste', () => {
  const target = {
    columns: ['horse', 'toe', 'worked out'].map((label) => ({ name: label.replace(' ', '_'), label })),
    rowCount: 5,
    canEdit: ({ name }: { readonly name: string }) => name !== 'worked_out',
  };

  it('gives every cell a place from the cursor on', () => {
    const plan = planPaste(
      [
        ['A', '1'],
        ['B', '2'],
      ],
      { row: 3, column: 0 },
      target,
    );
    expect(plan.faults).toEqual([]);
    expect(plan.cells).toEqual([
      { row: 3, column: 0, text: 'A' },
      { row: 3, column: 1, text: '1' },
      { row: 4, column: 0, text: 'B' },
      { row: 4, column: 1, text: '2' },
    ]);
  });

  it('tells of each cell without a place, and drops none', () => {
    const block = [
      ['1', 'x', 'beyond'],
      ['2', '', ''],
      ['3', '', ''],
    ];
    const { cells, faults } = planPaste(block, { row: 3, column: 1 }, target);
    expect(cells.length + faults.length).toBe(9);
    expect(cells.map(({ text }) => text)).toEqual(['1', '2']);
    expect(faults[0]).toEqual({
      pastedRow: 1,
      sheetRow: 4,
      column: 'worked out',
      value: 'x',
      reason: 'this column cannot be changed here',
      accepted: 'nothing: the value is worked out or kept as read',
    });
    expect(faults[1]).toMatchObject({ pastedRow: 1, column: null, value: 'beyond' });
    expect(faults.filter(({ pastedRow }) => pastedRow === 3)).toHaveLength(3);
    expect(faults.at(-3)).toMatchObject({ sheetRow: null, value: '3' });
  });
});
