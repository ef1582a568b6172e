// biome-ignore-all lint/a11y/useSemanticElements: a table element cannot hold rows that come and go by the million
import './sheet.css';
import { useEffect, useId, useMemo, useRef, useState } from 'preact/hooks';
import { type CellRange, cellCount } from './cell-range.ts';
import { DraftNote } from './draft-note.tsx';
import { cellId, GridHead, type GridLayout, GridRow } from './grid-cells.tsx';
import type { GridEditing } from './grid-editing.ts';
import { placeAfterKey } from './grid-keys.ts';
import { widthsByHand } from './grid-widths.ts';
import { columnWindow, contentHeight, gridWindow, ROW_HEIGHT } from './grid-window.ts';
import type { CachedRow } from './row-cache.ts';
import type { GridColumn, RowSort, RowSource } from './row-source.ts';
import { cellsAsText, rowsAsText } from './rows-as-text.ts';
import { useDraft } from './use-draft.tsx';
import { useRows, useSettled, useViewport } from './use-grid.ts';
import { usePlace } from './use-place.ts';
import { usePointer } from './use-pointer.ts';

const MOST_COPIED = 20_000;
/** Where a heading has a button it is given two lines as well. */
const TALL_HEADING = { room: 22, lines: 2 } as const;
const PLAIN_HEADING = { room: 0, lines: 1 } as const;
const WIDTH_STEP = 16;

export interface GridProps {
  readonly source: RowSource;
  /** What the rows are, for a reader who does not see the heading. */
  readonly label: string;
  /** How many columns at the left stay in view. */
  readonly identity?: number;
  readonly sort: RowSort | null;
  /** Without it rows keep their order. */
  readonly onSort?: ((sort: RowSort | null) => void) | undefined;
  /** Cells that need another value. */
  readonly isFaulty?: ((row: CachedRow, column: GridColumn) => boolean) | undefined;
  /** Enter or a double click on a cell that cannot be changed. */
  readonly onActivate?: ((row: number, column: string) => void) | undefined;
  /** What can be changed; without it rows are marked whole and only read. */
  readonly editing?: GridEditing | undefined;
  /** px by column, where they were set by hand. */
  readonly widths?: Readonly<Record<string, number>> | undefined;
  readonly onWidth?: ((column: GridColumn, px: number) => void) | undefined;
  /** The button of a heading, or Alt+ArrowDown on it. */
  readonly onAbout?: ((column: GridColumn) => void) | undefined;
  readonly onMarked?: ((range: CellRange) => void) | undefined;
  /** Goes to a row; a new object goes there again. */
  readonly goTo?: { readonly row: number; readonly column?: number } | null | undefined;
}

/** The order after a heading is pressed: smallest first, largest first, the first order again. */
function nextSort(sort: RowSort | null, column: string): RowSort | null {
  if (sort?.column !== column) return { column, descending: false };
  return sort.descending ? null : { column, descending: true };
}

/**
 * A table of any length: only the rows in view are fetched and drawn. ARIA grid with one tab stop; arrows, Page,
 * Home and End move, Shift extends, Enter on a heading sorts, Ctrl+C copies what is marked as tab-separated text.
 * Where cells can be changed: F2, Enter or typing begins, Delete clears, Ctrl+V pastes.
 */
export function Grid(props: GridProps) {
  const {
    source,
    label,
    identity = 0,
    sort,
    onSort,
    editing,
    widths: asSet,
    onWidth,
    onAbout,
    isFaulty,
  } = props;
  const { columns, rowCount } = source;
  const { scroller, scrollTop, scrollLeft, setScroll, height, width } = useViewport();
  const frame = useRef<HTMLDivElement>(null);
  const [said, setSaid] = useState('');
  const id = useId();
  const { cache, get, failure } = useRows(source, sort);
  const shown = gridWindow(rowCount, scrollTop, height);
  const firstRows = get(0)?.table ?? null;
  const settled = useSettled(columns, firstRows, onAbout ? TALL_HEADING : PLAIN_HEADING);
  const layout = useMemo<GridLayout>(() => {
    const widths = settled.widths.map((px, at) => asSet?.[columns[at]!.name] ?? px);
    return {
      id,
      columns,
      widths,
      lefts: widths.map((_, at) => widths.slice(0, at).reduce((sum, each) => sum + each, 0)),
      identity,
      isNumeric: ({ name }) => settled.numeric.has(name),
      canEdit: editing ? (column) => editing.canEdit(column) : null,
      isFaulty: isFaulty ?? null,
    };
  }, [settled, asSet, columns, identity, id, editing, isFaulty]);
  const { widths } = layout;
  const across = columnWindow(layout, scrollLeft, scrollLeft + width);
  const { place, range, moveTo } = usePlace({
    layout,
    rowCount,
    height,
    scroller,
    setScroll,
    onMarked: props.onMarked,
    goTo: props.goTo,
  });
  const byHand = onWidth ? widthsByHand(layout, onWidth) : null;

  const isEmpty = firstRows === null;
  useEffect(() => {
    // A fling passes thousands of rows: only where it rests is fetched.
    const timer = setTimeout(() => void cache.want(shown.first, shown.end), isEmpty ? 0 : 40);
    return () => clearTimeout(timer);
  }, [cache, shown.first, shown.end, isEmpty]);

  const typing = useDraft({
    id,
    layout,
    editing,
    get,
    toGrid: () => scroller.current?.focus({ preventScroll: true }),
    moveOn: ({ row, column }, after) => {
      const step = { down: [1, 0], up: [-1, 0], right: [0, 1], left: [0, -1], stay: [0, 0] }[after];
      moveTo(
        {
          row: Math.max(0, Math.min(rowCount - 1, row + step[0]!)),
          column: Math.max(0, Math.min(columns.length - 1, column + step[1]!)),
        },
        false,
      );
    },
    say: setSaid,
  });

  const sortBy = (column: GridColumn) => {
    if (!onSort) return;
    const next = nextSort(sort, column.name);
    onSort(next);
    const order = next?.descending ? 'largest' : 'smallest';
    setSaid(next ? `Sorted by ${column.label}, ${order} first` : 'In the first order again');
  };
  const copy = async () => {
    const count = Math.min(MOST_COPIED, range.bottom - range.top + 1);
    const table = await source.fetch(range.top, count, sort);
    const some = columns.slice(range.left, range.right + 1);
    await navigator.clipboard.writeText(editing ? cellsAsText(table, some) : rowsAsText(table, columns));
    const rows = `${count} ${count === 1 ? 'row' : 'rows'}`;
    const cut = count < range.bottom - range.top + 1 ? `; no more than ${MOST_COPIED} at once` : '';
    setSaid(editing ? `Copied ${rows} of ${some.length} columns${cut}` : `Copied ${rows}${cut}`);
  };
  const onHeadingKey = (event: KeyboardEvent, column: GridColumn): boolean => {
    if (event.key === 'Enter' || event.key === ' ') sortBy(column);
    else if (onAbout && event.altKey && event.key === 'ArrowDown') onAbout(column);
    else if (byHand && event.shiftKey && event.key === 'ArrowRight') byHand.widen(place.column, WIDTH_STEP);
    else if (byHand && event.shiftKey && event.key === 'ArrowLeft') byHand.widen(place.column, -WIDTH_STEP);
    else return false;
    return true;
  };
  const onCellKey = (event: KeyboardEvent, column: GridColumn): boolean => {
    const isPlain = !event.ctrlKey && !event.metaKey && !event.altKey;
    if (!editing) {
      if (event.key !== 'Enter' && event.key !== ' ') return false;
      props.onActivate?.(place.row, column.name);
    } else if (event.key === 'Delete' || event.key === 'Backspace') editing.clear(range);
    else if (event.key === 'Enter' || event.key === 'F2') typing.begin(place, null);
    else if (event.key === ' ') return true;
    else if (isPlain && event.key.length === 1) typing.begin(place, event.key);
    else return false;
    return true;
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
    if (column && (place.row < 0 ? onHeadingKey(event, column) : onCellKey(event, column))) {
      event.preventDefault();
      return;
    }
    if (event.altKey) return;
    const pageRows = Math.max(1, Math.floor(height / ROW_HEIGHT) - 1);
    const next = placeAfterKey(event, place, { rowCount, columnCount: columns.length, pageRows });
    if (!next) return;
    event.preventDefault();
    moveTo(next, event.shiftKey);
  };
  const pointer = usePointer({
    columns,
    place,
    isMarkedByDragging: editing !== undefined,
    isTyped: typing.isAt,
    moveTo,
    onHeading: sortBy,
    onCell: (at) => {
      if (editing) typing.begin(at, null);
      else props.onActivate?.(at.row, columns[at.column]!.name);
    },
  });
  const onPaste = (event: ClipboardEvent) => {
    const text = event.clipboardData?.getData('text/plain') ?? '';
    if (!editing || typing.draft || text === '') return;
    event.preventDefault();
    editing.paste({ row: range.top, column: range.left }, text);
  };
  const isColumnDrawn = (at: number) => at < identity || (at >= across.first && at < across.end);
  const isCellDrawn = ({ row, column }: { readonly row: number; readonly column: number }) =>
    row >= shown.first && row < shown.end && isColumnDrawn(column);
  const isDrawn = place.row < 0 || isCellDrawn(place);
  const rows = Array.from({ length: Math.max(0, shown.end - shown.first) }, (_, at) => shown.first + at);
  const { draft } = typing;
  const isMarking = editing === undefined || cellCount(range) > 1;
  return (
    <div class={editing ? 'row-grid is-editable' : 'row-grid'} ref={frame}>
      <div
        class="grid-scroll"
        ref={scroller}
        role="grid"
        aria-label={label}
        aria-rowcount={rowCount + 1}
        aria-colcount={columns.length}
        aria-multiselectable="true"
        {...(editing ? {} : { 'aria-readonly': true })}
        aria-activedescendant={isDrawn ? cellId(layout, place.row, place.column) : undefined}
        tabIndex={0}
        onScroll={({ currentTarget: { scrollTop: top, scrollLeft: left } }) => setScroll({ top, left })}
        onKeyDown={onKeyDown}
        {...pointer}
        onPaste={onPaste}
      >
        <GridHead
          layout={layout}
          activeColumn={place.row < 0 ? place.column : -1}
          sort={onSort ? sort : undefined}
          onAbout={onAbout ?? null}
          onResize={byHand ? byHand.drag : null}
        />
        <div
          class="grid-body"
          role="rowgroup"
          style={{
            height: `${contentHeight(rowCount)}px`,
            width: `${widths.reduce((sum, each) => sum + each, 0)}px`,
          }}
        >
          <div role="presentation" class="grid-rows" style={{ transform: `translateY(${shown.top}px)` }}>
            {rows.map((row) => {
              const cached = get(row);
              const isMarked = isMarking && row >= range.top && row <= range.bottom;
              return (
                <GridRow
                  key={row}
                  layout={layout}
                  firstColumn={across.first}
                  endColumn={across.end}
                  activeColumn={row === place.row ? place.column : -1}
                  row={row}
                  table={cached?.table ?? null}
                  at={cached?.at ?? 0}
                  markedFrom={isMarked ? range.left : null}
                  markedTo={isMarked ? range.right : null}
                  isWhole={editing === undefined}
                  editor={draft?.row === row ? typing.editor() : null}
                  editorColumn={draft?.row === row ? draft.column : -1}
                />
              );
            })}
          </div>
        </div>
      </div>
      {draft && editing && isCellDrawn(draft) && (
        <DraftNote
          id={`${id}-draft`}
          cell={cellId(layout, draft.row, draft.column)}
          frame={frame}
          draft={draft}
          choices={editing.choices(columns[draft.column]!)}
          accepts={editing.accepts(columns[draft.column]!)}
          onPick={(choice) => typing.finish(choice, 'stay')}
          moved={scrollTop}
        />
      )}
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
