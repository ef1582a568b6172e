import { describe, expect, it } from 'vitest';
import { repeatedTexts, sentTextColumn, withTexts } from '../../src/core/sent-texts.ts';
import { cellAt, makeTable, numberColumn, texts } from '../../src/core/table.ts';

const NAMES = ['Bess', null, 'Bess', 'Ann'];
const table = () => makeTable({ name: repeatedTexts(NAMES), n: numberColumn([1, 2, 3, 4]) });

describe('texts that are sent by their codes', () => {
  it('are the same before and after they were sent', () => {
    expect(texts(table(), 'name')).toEqual(NAMES);
    const received = withTexts(structuredClone(table()));
    expect(texts(received, 'name')).toEqual(NAMES);
    expect(cellAt(received, 'n', 3)).toBe(4);
  });

  it('are sent once each, and not row by row', () => {
    const sent = structuredClone(table().columns.name);
    expect(sent).toEqual({
      type: 'text',
      coded: { codes: Int32Array.of(0, -1, 0, 1), levels: ['Bess', 'Ann'] },
    });
    expect(sent).not.toHaveProperty('values');
  });

  it('are sent on by whoever received them', () => {
    const twice = withTexts(structuredClone(withTexts(structuredClone(table()))));
    expect(texts(twice, 'name')).toEqual(NAMES);
  });

  it('are shared by columns at the other end as they were here', () => {
    const levels = ['Bess', 'Ann'];
    const column = (...codes: number[]) => sentTextColumn({ codes: Int32Array.from(codes), levels });
    const { columns } = structuredClone(makeTable({ one: column(0, 1), other: column(1, -1) }));
    expect(columns.one).toMatchObject({ coded: { levels } });
    const coded = Object.values(columns).map((each) => each.type === 'text' && each.coded?.levels);
    expect(coded[0]).toBe(coded[1]);
  });

  it('make a table of one length', () => {
    expect(() => makeTable({ name: repeatedTexts(NAMES), n: numberColumn([1]) })).toThrow(
      'columns must be of one length: 4, 1',
    );
  });
});
