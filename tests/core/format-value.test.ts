import { describe, expect, it } from 'vitest';
import { formatCell } from '../../src/core/format-value.ts';
import { makeTable, numberColumn, textColumn } from '../../src/core/table.ts';

describe('a share', () => {
  const table = makeTable({
    estimate: numberColumn([0.158, -0.101, Number.NaN, 2.14]),
    unit: textColumn(['share', 'share', 'share', 'ratio']),
  });
  const cells = (column: object) =>
    [0, 1, 2, 3].map((row) => formatCell(table, { name: 'estimate', label: 'Estimate', ...column }, row));

  it('is read in per cent to as many figures as it has, the sign in the heading', () => {
    expect(cells({ share: true, digits: 3 })).toEqual(['15.8', '−10.1', '–', '214.0']);
    expect(cells({ share: true })[0]).toBe('15.8');
    expect(cells({ share: true, digits: 2 })[0]).toBe('16');
  });

  it('is read so, with its sign, only in rows of that unit where rows are in several', () => {
    expect(cells({ share: 'by-unit', digits: 3 })).toEqual(['15.8\u00a0%', '−10.1\u00a0%', '–', '2.140']);
  });

  it('stays as it is where nothing says that it is one', () => {
    expect(cells({ digits: 3 })[0]).toBe('0.158');
  });
});
