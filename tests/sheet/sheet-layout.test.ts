import { describe, expect, it } from 'vitest';
import {
  arrange,
  FIRST_LAYOUT,
  moveColumn,
  orderedColumns,
  readLayout,
  setWidth,
  toggleFixed,
  toggleHidden,
} from '../../src/sheet/sheet-layout.ts';

const columns = ['horse_id', 'name', 'visit_date', 'foot', 'toe', 'heel', 'angle'].map((name) => ({ name }));
const names = (some: readonly { readonly name: string }[]) => some.map(({ name }) => name);

describe('the layout of a sheet', () => {
  it('keeps the identity in view at the left at first', () => {
    const { columns: shown, fixed } = arrange(columns, FIRST_LAYOUT);
    expect(names(shown)).toEqual(['horse_id', 'visit_date', 'foot', 'name', 'toe', 'heel', 'angle']);
    expect(fixed).toBe(3);
  });

  it('moves a column past hidden ones, within its own group, and not past the end', () => {
    let layout = toggleHidden(FIRST_LAYOUT, 'heel');
    layout = moveColumn(columns, layout, 'toe', 1);
    expect(names(arrange(columns, layout).columns).slice(3)).toEqual(['name', 'angle', 'toe']);
    layout = moveColumn(columns, layout, 'toe', 1);
    expect(names(arrange(columns, layout).columns).slice(3)).toEqual(['name', 'angle', 'toe']);
    expect(moveColumn(columns, FIRST_LAYOUT, 'horse_id', -1)).toBe(FIRST_LAYOUT);
    const back = moveColumn(columns, layout, 'toe', -1);
    expect(names(arrange(columns, back).columns).slice(3)).toEqual(['name', 'toe', 'angle']);
  });

  it('places a column that is new after its neighbour, not at the end', () => {
    const layout = moveColumn(columns, FIRST_LAYOUT, 'angle', -1);
    const more = [...columns.slice(0, 5), { name: 'ratio' }, ...columns.slice(5)];
    expect(names(orderedColumns(more, layout)).slice(3)).toEqual(['name', 'toe', 'ratio', 'angle', 'heel']);
  });

  it('lets a column of the identity scroll, and hides and shows', () => {
    const layout = toggleFixed(FIRST_LAYOUT, 'foot');
    expect(arrange(columns, layout).fixed).toBe(2);
    expect(toggleHidden(toggleHidden(layout, 'toe'), 'toe')).toEqual(layout);
  });

  it('reads back what it kept, and nothing that it did not', () => {
    const layout = setWidth(moveColumn(columns, FIRST_LAYOUT, 'toe', 1), 'toe', 120.4);
    expect(readLayout(JSON.parse(JSON.stringify(layout)))).toEqual(layout);
    expect(layout.widths).toEqual({ toe: 120 });
    expect(readLayout(undefined)).toEqual(FIRST_LAYOUT);
    expect(readLayout({ order: [1], widths: { a: 'x' } })).toEqual(FIRST_LAYOUT);
  });
});
