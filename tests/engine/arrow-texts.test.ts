import { describe, expect, it } from 'vitest';
import { numberColumn, type Table, textColumn, texts } from '../../src/core/table.ts';
import { decodeArrow, encodeArrow } from '../../src/engine/arrow.ts';

const ROWS = 5000;
const through = (values: readonly (string | null)[]): Table =>
  decodeArrow(
    encodeArrow({
      rowCount: values.length,
      columns: { text: textColumn(values), n: numberColumn(values.keys()) },
    }),
  );
const coded = (table: Table) => {
  const column = table.columns.text;
  return column?.type === 'text' ? column.coded : undefined;
};

describe('texts of a long column', () => {
  // Missing cells, an empty text, letters of several bytes, and texts that begin alike.
  const words = ['soft', null, 'sof', 'ströh', '', '蹄', 'soft ground', 'softer'];
  const values = Array.from({ length: ROWS }, (_, i) => words[(i * i + (i >> 5)) % words.length] ?? null);

  it('come back as they were, each made once', () => {
    const table = through(values);
    expect(texts(table, 'text')).toEqual(values);
    const { codes, levels } = coded(table)!;
    expect(levels.length).toBe(words.length - 1);
    expect(Array.from(codes, (code) => levels[code] ?? null)).toEqual(values);
  });

  it('of which there are many are found again past the first table of them', () => {
    const horses = Array.from({ length: ROWS }, (_, i) => `horse ${(i * 7919) % 1200}`);
    const table = through(horses);
    expect(coded(table)!.levels.length).toBe(1200);
    expect(texts(table, 'text')).toEqual(horses);
  });

  it('that are nearly all different, or few, come plainly', () => {
    const different = Array.from({ length: ROWS }, (_, i) => `note ${i}`);
    expect(coded(through(different))).toBeUndefined();
    expect(texts(through(different), 'text')).toEqual(different);
    expect(coded(through(['a', null, 'a']))).toBeUndefined();
  });

  it('carry no codes where a table is compared or copied', () => {
    const table = through(values);
    expect(table.columns.text).toEqual(textColumn(values));
    expect(Object.keys(structuredClone(table).columns.text!)).toEqual(['type', 'values']);
  });
});
