import type { RefObject } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { type CellRange, rangeBetween } from './cell-range.ts';
import type { GridLayout } from './grid-cells.tsx';
import type { GridPlace } from './grid-keys.ts';
import { scrollToShow } from './grid-window.ts';

const START: GridPlace = { row: 0, column: 0 };

interface PlaceOptions {
  readonly layout: GridLayout;
  readonly rowCount: number;
  /** px that the rows have. */
  readonly height: number;
  readonly scroller: RefObject<HTMLDivElement | null>;
  readonly setScroll: (to: { readonly top: number; readonly left: number }) => void;
  readonly onMarked: ((range: CellRange) => void) | undefined;
  /** Goes to a row; a new object goes there again. */
  readonly goTo: { readonly row: number; readonly column?: number } | null | undefined;
}

/** The active cell and what is marked with it; whatever becomes active is scrolled into view. */
export function usePlace(options: PlaceOptions) {
  const { layout, rowCount, height, scroller, setScroll, onMarked, goTo } = options;
  const { identity, lefts, widths } = layout;
  const [place, setPlace] = useState<GridPlace>(START);
  const [anchor, setAnchor] = useState<GridPlace>(START);

  const reveal = (next: GridPlace) => {
    const element = scroller.current;
    if (!element) return;
    if (next.row >= 0) {
      const top = scrollToShow(next.row, rowCount, element.scrollTop, height);
      if (top !== element.scrollTop) element.scrollTop = top;
    }
    if (next.column >= identity) {
      const fixed = lefts[identity] ?? 0;
      const start = lefts[next.column]!;
      const end = start + widths[next.column]!;
      if (start - fixed < element.scrollLeft) element.scrollLeft = start - fixed;
      else if (end > element.scrollLeft + element.clientWidth) element.scrollLeft = end - element.clientWidth;
    }
    // The browser tells of it a frame later: what has come into view is drawn at once.
    setScroll({ top: element.scrollTop, left: element.scrollLeft });
  };
  const moveTo = (next: GridPlace, isExtending: boolean) => {
    const from = isExtending ? anchor : next;
    setPlace(next);
    setAnchor(from);
    reveal(next);
    onMarked?.(rangeBetween(from, next));
  };
  useEffect(() => {
    if (goTo) moveTo({ row: goTo.row, column: goTo.column ?? place.column }, false);
  }, [goTo]);
  useEffect(() => {
    // Rows were struck or filtered away: the active cell stays inside.
    if (place.row >= rowCount && rowCount > 0) moveTo({ row: rowCount - 1, column: place.column }, false);
  }, [rowCount]);

  return { place, range: rangeBetween(anchor, place), moveTo };
}
