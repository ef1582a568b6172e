import { useLayoutEffect, useMemo, useRef, useState } from 'preact/hooks';
import { columnWidths } from './column-widths.ts';
import { createRowCache } from './row-cache.ts';
import type { GridColumn, RowSort, RowSource } from './row-source.ts';

/** In a test, or before layout, nothing has a height. */
const USUAL_VIEWPORT = 420;

/** The element that scrolls, how far it is scrolled, and the px that its rows have. */
export function useViewport() {
  const scroller = useRef<HTMLDivElement>(null);
  const [scrollTop, setScrollTop] = useState(0);
  const [height, setHeight] = useState(USUAL_VIEWPORT);
  useLayoutEffect(() => {
    const element = scroller.current;
    if (!element) return;
    const measure = () => {
      const head = element.querySelector('.grid-head')?.clientHeight ?? 0;
      if (element.clientHeight > head) setHeight(element.clientHeight - head);
    };
    measure();
    if (typeof ResizeObserver === 'undefined') return;
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    return () => observer.disconnect();
  }, []);
  return { scroller, scrollTop, setScrollTop, height };
}

/** The rows seen last, for one source in one order; draws again when more arrive. */
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
  return { cache, failure: failed?.cache === cache ? failed.message : null };
}

/** Widths by content, settled once the first rows are there so that columns do not jump while scrolling. */
export function useWidths(columns: readonly GridColumn[], firstRows: Parameters<typeof columnWidths>[1]) {
  const settled = useRef<{ readonly columns: readonly GridColumn[]; readonly widths: number[] } | null>(null);
  if (settled.current?.columns === columns) return settled.current.widths;
  const widths = columnWidths(columns, firstRows);
  if (firstRows) settled.current = { columns, widths };
  return widths;
}
