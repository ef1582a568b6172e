// biome-ignore-all lint/a11y/useSemanticElements: a table element cannot hold rows that come and go by the million
// biome-ignore-all lint/a11y/useFocusableInteractive: the grid holds the focus and names its active cell
// biome-ignore-all lint/a11y/useAriaPropsSupportedByRole: every role here is a cell of a grid
import { Component, type ComponentChildren } from 'preact';
import { columnTitle, formatCell } from '../core/format-value.ts';
import type { Table } from '../core/table.ts';
import { ROW_HEIGHT } from './grid-window.ts';
import type { CachedRow } from './row-cache.ts';
import type { GridColumn, RowSort } from './row-source.ts';

/** Where the columns stand, and what can be done with their cells. */
export interface GridLayout {
  readonly id: string;
  readonly columns: readonly GridColumn[];
  /** px, one a column. */
  readonly widths: readonly number[];
  readonly lefts: readonly number[];
  /** How many columns at the left stay in view. */
  readonly identity: number;
  readonly isNumeric: (column: GridColumn) => boolean;
  /** Null where nothing can be changed. */
  readonly canEdit: ((column: GridColumn) => boolean) | null;
  /** Cells that need another value; null where none is looked for. */
  readonly isFaulty: ((row: CachedRow, column: GridColumn) => boolean) | null;
}

export const cellId = (layout: { readonly id: string }, row: number, column: number) =>
  `${layout.id}-${row}-${column}`;

function cellLook(
  layout: GridLayout,
  row: number,
  at: number,
  isActive: boolean,
  more: string | false,
  placed: { readonly marginLeft?: string } = {},
) {
  const { identity, widths, lefts, columns, isNumeric, canEdit } = layout;
  const classes = [
    'grid-cell',
    at < identity && 'is-identity',
    at === identity - 1 && 'is-last-identity',
    isNumeric(columns[at]!) && 'is-number',
    isActive && 'is-active',
    more,
  ];
  return {
    id: cellId(layout, row, at),
    class: classes.filter(Boolean).join(' '),
    style: { width: `${widths[at]}px`, ...(at < identity ? { left: `${lefts[at]}px` } : {}), ...placed },
    'aria-colindex': at + 1,
    'data-column': at,
    ...(canEdit && row >= 0 && !canEdit(columns[at]!) ? { 'aria-readonly': true } : {}),
  };
}

interface GridHeadProps {
  readonly layout: GridLayout;
  readonly activeColumn: number;
  /** Undefined where rows cannot be sorted. */
  readonly sort: RowSort | null | undefined;
  readonly onAbout: ((column: GridColumn) => void) | null;
  readonly onResize: ((column: GridColumn, event: PointerEvent) => void) | null;
}

export function GridHead({ layout, activeColumn, sort, onAbout, onResize }: GridHeadProps) {
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
            {...(sort === undefined ? {} : { 'aria-sort': order })}
            title={columnTitle(column)}
            {...cellLook(layout, -1, at, at === activeColumn, onAbout ? 'has-about' : false)}
          >
            {columnTitle(column)}
            <span aria-hidden="true">{order === 'none' ? '' : order === 'ascending' ? ' ↑' : ' ↓'}</span>
            {onAbout && (
              <button
                type="button"
                class="grid-about"
                tabIndex={-1}
                aria-label={`About ${column.label}: summary, filter, place`}
                onClick={(event) => {
                  event.stopPropagation();
                  onAbout(column);
                }}
              >
                ⋯
              </button>
            )}
            {onResize && (
              <span
                class="grid-resize"
                aria-hidden="true"
                onPointerDown={(event) => {
                  event.stopPropagation();
                  event.preventDefault();
                  onResize(column, event);
                }}
                onClick={(event) => event.stopPropagation()}
              />
            )}
          </div>
        );
      })}
    </div>
  );
}

interface GridRowProps {
  readonly layout: GridLayout;
  /** Beside the columns that stay in view, those from the first to before the end are drawn. */
  readonly firstColumn: number;
  readonly endColumn: number;
  /** -1 where the active cell is in another row. */
  readonly activeColumn: number;
  readonly row: number;
  /** Null while the row is being fetched. */
  readonly table: Table | null;
  readonly at: number;
  /** Marked as a whole, or from one column to another; null where it is not. */
  readonly markedFrom: number | null;
  readonly markedTo: number | null;
  readonly isWhole: boolean;
  /** What stands in place of a cell being typed in. */
  readonly editor: ComponentChildren;
  readonly editorColumn: number;
}

/** Drawn again only when something of its own has changed: scrolling passes many rows. */
export class GridRow extends Component<GridRowProps> {
  override shouldComponentUpdate(next: Readonly<GridRowProps>): boolean {
    return (Object.keys(next) as (keyof GridRowProps)[]).some((name) => next[name] !== this.props[name]);
  }

  render({ layout, activeColumn, row, table, at, markedFrom, markedTo, isWhole, ...rest }: GridRowProps) {
    const isMarked = markedFrom !== null && markedTo !== null;
    const { firstColumn, endColumn } = rest;
    const { columns, identity, lefts } = layout;
    // Room for the columns that are passed over.
    const placed = { marginLeft: `${(lefts[firstColumn] ?? 0) - (lefts[identity] ?? 0)}px` };
    return (
      <div
        role="row"
        aria-rowindex={row + 2}
        {...(isWhole ? { 'aria-selected': isMarked } : {})}
        class={`grid-row${isMarked && isWhole ? ' is-marked' : ''}${row % 2 ? ' is-odd' : ''}`}
        style={{ height: `${ROW_HEIGHT}px` }}
        data-row={row}
      >
        {columns.map((column, k) => {
          if (k >= identity && (k < firstColumn || k >= endColumn)) return null;
          const isOwn = !isWhole && isMarked && k >= markedFrom && k <= markedTo;
          const isTyped = rest.editorColumn === k;
          const isFaulty = table !== null && (layout.isFaulty?.({ table, at }, column) ?? false);
          const look = isTyped ? 'is-typed' : isOwn ? 'is-marked' : isFaulty && 'is-faulty';
          return (
            <div
              key={column.name}
              role={k < identity ? 'rowheader' : 'gridcell'}
              {...(isWhole ? {} : { 'aria-selected': isOwn })}
              {...(isFaulty ? { 'aria-invalid': true } : {})}
              {...cellLook(layout, row, k, k === activeColumn, look, k === firstColumn ? placed : {})}
            >
              {isTyped
                ? rest.editor
                : table && column.name in table.columns
                  ? formatCell(table, column, at)
                  : '…'}
            </div>
          );
        })}
      </div>
    );
  }
}
