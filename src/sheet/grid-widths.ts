import { NARROWEST } from './column-widths.ts';
import type { GridLayout } from './grid-cells.tsx';
import type { GridColumn } from './row-source.ts';

const WIDEST_BY_HAND = 800;

const withinReach = (px: number): number => Math.max(NARROWEST, Math.min(WIDEST_BY_HAND, px));

/** Makes columns wider and narrower: by so many px, or as far as the pointer is dragged from its heading's edge. */
export function widthsByHand(
  { columns, widths }: GridLayout,
  onWidth: (column: GridColumn, px: number) => void,
) {
  return {
    widen(at: number, by: number): void {
      const column = columns[at];
      if (column) onWidth(column, withinReach(widths[at]! + by));
    },
    drag(column: GridColumn, event: PointerEvent): void {
      const start = event.clientX - widths[columns.indexOf(column)]!;
      const target = event.currentTarget as HTMLElement;
      target.setPointerCapture(event.pointerId);
      const follow = (moved: PointerEvent) => onWidth(column, withinReach(moved.clientX - start));
      target.addEventListener('pointermove', follow);
      target.addEventListener('lostpointercapture', () => target.removeEventListener('pointermove', follow), {
        once: true,
      });
    },
  };
}
