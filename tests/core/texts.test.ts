import { describe, expect, it } from 'vitest';
import { columnTitle, formatCell, formatNumber } from '../../src/core/format-value.ts';
import { dayColumn, makeTable, numberColumn } from '../../src/core/table.ts';
import { fitText, textWidth } from '../../src/core/text-width.ts';

describe('texts', () => {
  it('cuts a text to its room', () => {
    const cut = fitText('Horse with quite a long stable name', 100);
    expect(cut).toMatch(/^Horse.*…$/);
    expect(textWidth(cut)).toBeLessThanOrEqual(100);
    expect(fitText('Ada', 100)).toBe('Ada');
  });

  it('writes a missing cell as a dash and a day as ISO 8601', () => {
    const table = makeTable({ mm: numberColumn([null, 2]), day: dayColumn([20000, Number.NaN]) });
    const cells = (name: string) =>
      [0, 1].map((row) => formatCell(table, { name, label: name, digits: 1 }, row));
    expect(cells('mm')).toEqual(['–', '2.0']);
    expect(cells('day')).toEqual(['2024-10-04', '–']);
    expect(columnTitle({ label: 'toe', unit: 'mm' })).toBe('toe (mm)');
  });

  it('writes numbers as people read them', () => {
    expect([
      formatNumber(1234567),
      formatNumber(-0.5, 2),
      formatNumber(7.256, 1),
      formatNumber(0.123456),
    ]).toEqual(['1,234,567', '−0.50', '7.3', '0.1235']);
  });
});
