import { useRef } from 'preact/hooks';
import type { GridPlace } from './grid-keys.ts';
import type { GridColumn } from './row-source.ts';

interface PointerOptions {
  readonly columns: readonly GridColumn[];
  readonly place: GridPlace;
  readonly isMarkedByDragging: boolean;
  /** Is a value being typed here? What is done there belongs to its field. */
  readonly isTyped: (at: GridPlace) => boolean;
  readonly moveTo: (next: GridPlace, isExtending: boolean) => void;
  readonly onHeading: (column: GridColumn) => void;
  /** A double click. */
  readonly onCell: (at: GridPlace) => void;
}

/** What a mouse and a finger do to a grid, as the handlers of its element. */
export function usePointer(options: PointerOptions) {
  const { columns, place, isMarkedByDragging, isTyped, moveTo, onHeading, onCell } = options;
  const byMouse = useRef(false);

  const onClick = (event: MouseEvent) => {
    const at = placeOf(event.target);
    const wasByMouse = byMouse.current;
    byMouse.current = false;
    if (!at || isTyped(at)) return;
    if (!wasByMouse || at.row < 0) moveTo(at, event.shiftKey && at.row >= 0);
    if (at.row < 0) onHeading(columns[at.column]!);
  };
  const onPointerDown = (event: PointerEvent) => {
    // A finger that moves scrolls; only a mouse marks by dragging.
    if (!isMarkedByDragging || event.pointerType !== 'mouse' || event.button !== 0) return;
    const at = placeOf(event.target);
    if (!at || at.row < 0 || isTyped(at)) return;
    byMouse.current = true;
    moveTo(at, event.shiftKey);
  };
  const onPointerMove = (event: PointerEvent) => {
    if (!byMouse.current || event.buttons !== 1) return;
    const at = placeOf(document.elementFromPoint(event.clientX, event.clientY));
    if (at && at.row >= 0 && (at.row !== place.row || at.column !== place.column)) moveTo(at, true);
  };
  const onDblClick = (event: MouseEvent) => {
    const at = placeOf(event.target);
    if (!at || at.row < 0 || isTyped(at)) return;
    onCell(at);
  };
  return { onClick, onPointerDown, onPointerMove, onDblClick };
}

function placeOf(found: EventTarget | Element | null): GridPlace | null {
  const cell = found instanceof Element ? found.closest<HTMLElement>('.grid-cell') : null;
  const row = cell?.closest<HTMLElement>('[data-row]')?.dataset.row;
  return cell && row !== undefined ? { row: Number(row), column: Number(cell.dataset.column) } : null;
}
