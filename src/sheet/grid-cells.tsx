// biome-ignore-all lint/a11y/useSemanticElements: a table element cannot hold rows that come and go by the million
// biome-ignore-all lint/a11y/useFocusableInteractive: the grid holds the focus and names its active cell
// biome-ignore-all lint/a11y/useAriaPropsSupportedByRole: every role here is a cell of a grid
import { columnTitle, formatCell } from '../core/format-value.ts';
import type { GridPlace } from './grid-keys.ts';
import { ROW_HEIGHT } from './grid-window.ts';
import type { CachedRow } from './row-cache.ts';
import type { GridColumn, RowSort } from './row-source.ts';

/** Where the columns stand. */
export interface GridLayout {
  readonly id: string;
  readonly columns: readonly GridColumn[];
  /** px, one a column. */
  readonly widths: readonly number[];
  readonly lefts: readonly number[];
  /** How many columns at the left stay in view. */
  readonly identity: number;
  readonly isNumeric: (column: GridColumn) => boolean;
}

export const cellId = (layout: GridLayout, row: number, column: number) => `${layout.id}-${row}-${column}`;

function cellLook(layout: GridLayout, row: number, at: number, active: GridPlace) {
  const { identity, widths, lefts, columns, isNumeric } = layout;
  const classes = [
    'grid-cell',
    at < identity && 'is-identity',
    at === identity - 1 && 'is-last-identity',
    isNumeric(columns[at]!) && 'is-number',
    active.row === row && active.column === at && 'is-active',
  ];
  return {
    id: cellId(layout, row, at),
    class: classes.filter(Boolean).join(' '),
    style: { width: `${widths[at]}px`, ...(at < identity ? { left: `${lefts[at]}px` } : {}) },
    'aria-colindex': at + 1,
    'data-column': at,
  };
}

export interface GridHeadProps {
  readonly layout: GridLayout;
  readonly active: GridPlace;
  readonly sort: RowSort | null;
}

export function GridHead({ layout, active, sort }: GridHeadProps) {
  const width = layout.widths.reduce((sum, each) => sum + each, 0);
  return (
    <div class="grid-head" role="row" aria-rowindex={1} data-row={-1} style={{ width: `${width}px` }}>
      {layout.columns.map((column, at) => {
        const sorted = sort?.column === column.name ? sort : null;
        const order = sorted ? (sorted.descending ? 'descending' : 'ascending') : 'none';
        return (
          <div
            key={column.name}
            role="columnheader"
            aria-sort={order}
            title={columnTitle(column)}
            {...cellLook(layout, -1, at, active)}
          >
            {columnTitle(column)}
            <span aria-hidden="true">{order === 'none' ? '' : order === 'ascending' ? ' ↑' : ' ↓'}</span>
          </div>
        );
      })}
    </div>
  );
}

export interface GridRowProps {
  readonly layout: GridLayout;
  readonly active: GridPlace;
  readonly row: number;
  /** Null while the row is being fetched. */
  readonly cached: CachedRow | null;
  readonly isMarked: boolean;
}

export function GridRow({ layout, active, row, cached, isMarked }: GridRowProps) {
  return (
    <div
      role="row"
      aria-rowindex={row + 2}
      aria-selected={isMarked}
      class={`grid-row${isMarked ? ' is-marked' : ''}${row % 2 ? ' is-odd' : ''}`}
      style={{ height: `${ROW_HEIGHT}px` }}
      data-row={row}
    >
      {layout.columns.map((column, at) => (
        <div
          key={column.name}
          role={at < layout.identity ? 'rowheader' : 'gridcell'}
          {...cellLook(layout, row, at, active)}
        >
          {cached && column.name in cached.table.columns ? formatCell(cached.table, column, cached.at) : '…'}
        </div>
      ))}
    </div>
  );
}
