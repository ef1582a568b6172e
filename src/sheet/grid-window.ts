/** Height of a row in px: every row has the same, so that a place is a multiplication. */
export const ROW_HEIGHT = 28;

/** Browsers cap the height of an element (some near 17 million px); beyond this a scroll fraction stands for a row. */
export const MOST_HEIGHT = 15_000_000;

/** px that the scrolled content is tall. */
export function contentHeight(rowCount: number): number {
  return Math.min(rowCount * ROW_HEIGHT, MOST_HEIGHT);
}

interface GridWindow {
  /** Rows to draw: the first, and the one after the last. */
  readonly first: number;
  readonly end: number;
  /** px from the top of the content to the top of row `first`. */
  readonly top: number;
}

/** Rows that one px of scrolling passes: 1 / ROW_HEIGHT unless the content is capped. */
function rowsPerPx(rowCount: number, viewport: number): number {
  const scrollable = contentHeight(rowCount) - viewport;
  return scrollable <= 0 ? 0 : (rowCount - viewport / ROW_HEIGHT) / scrollable;
}

/** Which rows stand in view at a scroll position, with some more on either side. */
export function gridWindow(rowCount: number, scrollTop: number, viewport: number, more = 6): GridWindow {
  const topRow = scrollTop * rowsPerPx(rowCount, viewport);
  const first = Math.max(0, Math.floor(topRow) - more);
  const end = Math.min(rowCount, Math.ceil(topRow + viewport / ROW_HEIGHT) + more);
  return { first, end, top: scrollTop - (topRow - first) * ROW_HEIGHT };
}

/** The scroll position nearest to the present one at which a row stands wholly in view. */
export function scrollToShow(row: number, rowCount: number, scrollTop: number, viewport: number): number {
  const perPx = rowsPerPx(rowCount, viewport);
  if (perPx === 0) return 0;
  const topRow = scrollTop * perPx;
  const fitting = viewport / ROW_HEIGHT;
  if (row < topRow) return row / perPx;
  if (row + 1 > topRow + fitting) return (row + 1 - fitting) / perPx;
  return scrollTop;
}

/** Columns to draw beside those that stay in view: the first, and the one after the last. */
interface ColumnWindow {
  readonly first: number;
  readonly end: number;
}

/** px beyond either edge of the view in which columns are drawn too, so that a push sideways finds them there. */
const BESIDE_PX = 400;

/** Which columns stand in view between px `from` and `to` of the content, with some more on either side. */
export function columnWindow(
  { lefts, widths, identity }: { lefts: readonly number[]; widths: readonly number[]; identity: number },
  from: number,
  to: number,
): ColumnWindow {
  const isSeen = (left: number, at: number): boolean =>
    at >= identity && left + widths[at]! > from - BESIDE_PX && left < to + BESIDE_PX;
  const first = lefts.findIndex(isSeen);
  if (first === -1) return { first: identity, end: identity };
  return { first, end: lefts.findLastIndex(isSeen) + 1 };
}
