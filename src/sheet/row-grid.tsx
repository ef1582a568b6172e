// biome-ignore-all lint/a11y/useSemanticElements: a table element cannot hold rows that come and go by the million
import './sheet.css';
import { useEffect, useId, useRef, useState } from 'preact/hooks';
import { cellId, GridHead, type GridLayout, GridRow } from './grid-cells.tsx';
import { type GridPlace, placeAfterKey } from './grid-keys.ts';
import { contentHeight, gridWindow, ROW_HEIGHT, scrollToShow } from './grid-window.ts';
import type { GridColumn, RowSort, RowSource } from './row-source.ts';
import { rowsAsText } from './rows-as-text.ts';
import { useRows, useViewport, useWidths } from './use-grid.ts';

export type { GridColumn, RowSort, RowSource } from './row-source.ts';

const MOST_COPIED = 20_000;
const START: GridPlace = { row: 0, column: 0 };

export interface RowGridProps {
  readonly source: RowSource;
  /** What the rows are, for a reader who does not see the heading. */
  readonly label: string;
  /** How many columns at the left stay in view. */
  readonly identity?: number;
  /** Enter or a double click on a cell. */
  onActivate?(row: number, column: string): void;
}

/** The order after a heading is pressed: smallest first, largest first, the first order again. */
function nextSort(sort: RowSort | null, column: string): RowSort | null {
  if (sort?.column !== column) return { column, descending: false };
  return sort.descending ? null : { column, descending: true };
}

function placeOf(event: Event): GridPlace | null {
  const found = event.target instanceof Element ? event.target.closest<HTMLElement>('.grid-cell') : null;
  const row = found?.closest<HTMLElement>('[data-row]')?.dataset.row;
  return found && row !== undefined ? { row: Number(row), column: Number(found.dataset.column) } : null;
}

/**
 * A table of any length: only the rows in view are fetched and drawn. ARIA grid with one tab stop; arrows, Page,
 * Home and End move, Shift extends, Enter on a heading sorts, Ctrl+C copies the marked rows as tab-separated text.
 */
export function RowGrid(props: RowGridProps) {
  // Another source begins at its top, unsorted: a grid of its own.
  const seen = useRef({ source: props.source, count: 0 });
  if (seen.current.source !== props.source) {
    seen.current = { source: props.source, count: seen.current.count + 1 };
  }
  return <Grid key={seen.current.count} {...props} />;
}

function Grid({ source, label, identity = 0, onActivate }: RowGridProps) {
  const { columns, rowCount } = source;
  const { scroller, scrollTop, setScrollTop, height } = useViewport();
  const [sort, setSort] = useState<RowSort | null>(null);
  const [place, setPlace] = useState<GridPlace>(START);
  const [anchor, setAnchor] = useState(0);
  const [said, setSaid] = useState('');
  const { cache, failure } = useRows(source, sort);
  const shown = gridWindow(rowCount, scrollTop, height);
  const firstRows = cache.get(0)?.table ?? null;
  const widths = useWidths(columns, firstRows);
  const lefts = widths.map((_, at) => widths.slice(0, at).reduce((sum, each) => sum + each, 0));
  const layout: GridLayout = {
    id: useId(),
    columns,
    widths,
    lefts,
    identity,
    isNumeric: ({ name }) => firstRows?.columns[name]?.type === 'number',
  };
  const marked = { from: Math.max(0, Math.min(anchor, place.row)), to: Math.max(anchor, place.row) };

  const isEmpty = firstRows === null;
  useEffect(() => {
    // A fling passes thousands of rows: only where it rests is fetched.
    const timer = setTimeout(() => void cache.want(shown.first, shown.end), isEmpty ? 0 : 40);
    return () => clearTimeout(timer);
  }, [cache, shown.first, shown.end, isEmpty]);

  const reveal = (next: GridPlace) => {
    const element = scroller.current;
    if (!element) return;
    if (next.row >= 0) {
      const top = scrollToShow(next.row, rowCount, element.scrollTop, height);
      if (top !== element.scrollTop) element.scrollTop = top;
      setScrollTop(top);
    }
    if (next.column < identity) return;
    const fixed = lefts[identity] ?? 0;
    const start = lefts[next.column]!;
    const end = start + widths[next.column]!;
    if (start - fixed < element.scrollLeft) element.scrollLeft = start - fixed;
    else if (end > element.scrollLeft + element.clientWidth) element.scrollLeft = end - element.clientWidth;
  };
  const moveTo = (next: GridPlace, isExtending: boolean) => {
    setPlace(next);
    if (!isExtending) setAnchor(Math.max(0, next.row));
    reveal(next);
  };
  const sortBy = (column: GridColumn) => {
    const next = nextSort(sort, column.name);
    setSort(next);
    const order = next?.descending ? 'largest' : 'smallest';
    setSaid(next ? `Sorted by ${column.label}, ${order} first` : 'In the first order again');
  };
  const copy = async () => {
    const count = Math.min(MOST_COPIED, marked.to - marked.from + 1);
    const table = await source.fetch(marked.from, count, sort);
    await navigator.clipboard.writeText(rowsAsText(table, columns));
    setSaid(`Copied ${count} ${count === 1 ? 'row' : 'rows'}`);
  };
  const onKeyDown = (event: KeyboardEvent) => {
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 'c') {
      // What the user has marked as text is copied by the browser.
      if (getSelection()?.isCollapsed === false) return;
      event.preventDefault();
      copy().catch((error: Error) => setSaid(`Nothing was copied: ${error.message}`));
      return;
    }
    const column = columns[place.column];
    if ((event.key === 'Enter' || event.key === ' ') && column) {
      event.preventDefault();
      if (place.row < 0) sortBy(column);
      else onActivate?.(place.row, column.name);
      return;
    }
    const pageRows = Math.max(1, Math.floor(height / ROW_HEIGHT) - 1);
    const next = placeAfterKey(event, place, { rowCount, columnCount: columns.length, pageRows });
    if (!next) return;
    event.preventDefault();
    moveTo(next, event.shiftKey);
  };
  const onClick = (event: MouseEvent) => {
    const at = placeOf(event);
    if (!at) return;
    moveTo(at, event.shiftKey && at.row >= 0);
    if (at.row < 0) sortBy(columns[at.column]!);
  };
  const onDblClick = (event: MouseEvent) => {
    const at = placeOf(event);
    if (at && at.row >= 0) onActivate?.(at.row, columns[at.column]!.name);
  };

  const isDrawn = place.row < 0 || (place.row >= shown.first && place.row < shown.end);
  const rows = Array.from({ length: Math.max(0, shown.end - shown.first) }, (_, at) => shown.first + at);
  return (
    <div class="row-grid">
      <div
        class="grid-scroll"
        ref={scroller}
        role="grid"
        aria-label={label}
        aria-rowcount={rowCount + 1}
        aria-colcount={columns.length}
        aria-multiselectable="true"
        aria-readonly="true"
        aria-activedescendant={isDrawn ? cellId(layout, place.row, place.column) : undefined}
        tabIndex={0}
        onScroll={(event) => setScrollTop(event.currentTarget.scrollTop)}
        onKeyDown={onKeyDown}
        onClick={onClick}
        onDblClick={onDblClick}
      >
        <GridHead layout={layout} active={place} sort={sort} />
        <div
          class="grid-body"
          role="rowgroup"
          style={{
            height: `${contentHeight(rowCount)}px`,
            width: `${widths.reduce((sum, each) => sum + each, 0)}px`,
          }}
        >
          <div role="presentation" class="grid-rows" style={{ transform: `translateY(${shown.top}px)` }}>
            {rows.map((row) => (
              <GridRow
                key={row}
                layout={layout}
                active={place}
                row={row}
                cached={cache.get(row)}
                isMarked={row >= marked.from && row <= marked.to}
              />
            ))}
          </div>
        </div>
      </div>
      {failure && (
        <p class="grid-failure" role="alert">
          The rows could not be read: {failure}
        </p>
      )}
      <p class="grid-said" aria-live="polite">
        {said}
      </p>
    </div>
  );
}
