export interface MarkCursorOptions {
  pick(table: string, row: number): void;
  /** Whether rows stand behind this mark. */
  canPick(table: string, row: number): boolean;
  /** What the current mark shows, for the reader. */
  say(text: string): void;
}

interface Place {
  readonly table: string;
  readonly row: number;
  readonly element: Element;
}

const placeOf = (element: Element): Place => ({
  table: element.getAttribute('data-table') ?? '',
  row: Number(element.getAttribute('data-row')),
  element,
});

/** One place a row, in the order in which they were drawn. */
function placesIn(frame: Element): Place[] {
  const seen = new Map<string, Place>();
  for (const element of frame.querySelectorAll('[data-row]')) {
    const place = placeOf(element);
    seen.set(`${place.table} ${place.row}`, place);
  }
  return [...seen.values()].sort((a, b) => a.table.localeCompare(b.table) || a.row - b.row);
}

const STEPS: Readonly<Record<string, number>> = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };

/** Lets pointer and keyboard choose marks inside a frame; the frame itself holds the focus. */
export function markCursor(frame: HTMLElement, options: MarkCursorOptions): { release(): void } {
  const places = placesIn(frame);
  let at = -1;
  for (const { table, row, element } of [...frame.querySelectorAll('[data-row]')].map(placeOf)) {
    if (options.canPick(table, row)) element.classList.add('is-pickable');
  }
  const show = () => {
    const current = places[at];
    for (const element of frame.querySelectorAll('[data-current]')) element.removeAttribute('data-current');
    if (!current) return;
    for (const element of frame.querySelectorAll(`[data-row="${current.row}"]`)) {
      if (placeOf(element).table === current.table) element.setAttribute('data-current', '');
    }
    options.say((current.element.querySelector('title')?.textContent ?? '').replaceAll('\n', ' · '));
  };
  const onKey = (event: KeyboardEvent) => {
    const step = STEPS[event.key];
    if (places.length === 0) return;
    if (step !== undefined)
      at = at < 0 ? (step > 0 ? 0 : places.length - 1) : (at + step + places.length) % places.length;
    else if (event.key === 'Home') at = 0;
    else if (event.key === 'End') at = places.length - 1;
    else if (event.key === 'Enter' || event.key === ' ') {
      const current = places[at];
      if (current) options.pick(current.table, current.row);
    } else return;
    event.preventDefault();
    show();
  };
  const onClick = (event: MouseEvent) => {
    const element = event.target instanceof Element ? event.target.closest('[data-row]') : null;
    if (!element) return;
    const { table, row } = placeOf(element);
    options.pick(table, row);
  };
  frame.addEventListener('keydown', onKey);
  frame.addEventListener('click', onClick);
  return {
    release() {
      frame.removeEventListener('keydown', onKey);
      frame.removeEventListener('click', onClick);
    },
  };
}
