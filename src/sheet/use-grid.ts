import { useLayoutEffect, useMemo, useRef, useState } from 'preact/hooks';
import type { Table } from '../core/table.ts';
import { columnWidths, type HeadingSize } from './column-widths.ts';
import { type CachedRow, createRowCache, type RowCache } from './row-cache.ts';
import type { GridColumn, RowSort, RowSource } from './row-source.ts';

/** In a test, or before layout, nothing has a height. */
const USUAL_VIEWPORT = 420;

/** The element that scrolls, how far it is scrolled, and the px that its rows and columns have. */
export function useViewport() {
  const scroller = useRef<HTMLDivElement>(null);
  const [scrollTop, setScrollTop] = useState(0);
  const [scrollLeft, setScrollLeft] = useState(0);
  const [height, setHeight] = useState(USUAL_VIEWPORT);
  const [width, setWidth] = useState(Number.POSITIVE_INFINITY);
  useLayoutEffect(() => {
    const element = scroller.current;
    if (!element) return;
    const measure = () => {
      const head = element.querySelector('.grid-head')?.clientHeight ?? 0;
      if (element.clientHeight > head) setHeight(element.clientHeight - head);
      if (element.clientWidth > 0) setWidth(element.clientWidth);
    };
    measure();
    if (typeof ResizeObserver === 'undefined') return;
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    return () => observer.disconnect();
  }, []);
  const setScroll = ({ top, left }: { readonly top: number; readonly left: number }) => {
    setScrollTop(top);
    setScrollLeft(left);
  };
  return { scroller, scrollTop, scrollLeft, setScroll, height, width };
}

interface Seen {
  readonly source: RowSource;
  readonly sort: RowSort | null;
  readonly cache: RowCache;
}

/**
 * The rows seen last, for one source in one order; draws again when more arrive. Where the same rows are asked for
 * anew (after an edit), those known before stand in until the new ones are there.
 */
export function useRows(source: RowSource, sort: RowSort | null) {
  const [, setArrivals] = useState(0);
  const [failed, setFailed] = useState<{ readonly cache: unknown; readonly message: string } | null>(null);
  const cache = useMemo(() => {
    const made = createRowCache(source, sort, {
      changed: () => setArrivals((count) => count + 1),
      failed: (error) =>
        setFailed({ cache: made, message: error instanceof Error ? error.message : String(error) }),
    });
    return made;
  }, [source, sort]);
  const seen = useRef<Seen | null>(null);
  const before = useRef<RowCache | null>(null);
  const last = seen.current;
  if (last?.cache !== cache) {
    const isSame = source.sameAs !== undefined && last?.source.sameAs === source.sameAs && last.sort === sort;
    before.current = isSame ? (last?.cache ?? null) : null;
    seen.current = { source, sort, cache };
  }
  const get = (row: number): CachedRow | null => cache.get(row) ?? before.current?.get(row) ?? null;
  return { cache, get, failure: failed?.cache === cache ? failed.message : null };
}

interface Settled {
  readonly columns: readonly GridColumn[];
  readonly widths: readonly number[];
  readonly numeric: ReadonlySet<string>;
}

/** Widths and alignment by content, settled once the first rows are there so that columns do not jump while scrolling. */
export function useSettled(
  columns: readonly GridColumn[],
  firstRows: Table | null,
  heading: HeadingSize,
): Settled {
  const settled = useRef<Settled | null>(null);
  if (settled.current?.columns === columns) return settled.current;
  const numeric = columns.filter(({ name }) => firstRows?.columns[name]?.type === 'number');
  const found: Settled = {
    columns,
    widths: columnWidths(columns, firstRows, heading),
    numeric: new Set(numeric.map(({ name }) => name)),
  };
  if (firstRows) settled.current = found;
  return found;
}
