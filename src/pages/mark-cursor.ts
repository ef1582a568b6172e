interface MarkCursorOptions {
  /** The way along which marks follow one another; null to follow the rows. */
  readonly along: 'x' | 'y' | null;
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

/** One place a row, in the order in which they stand. */
function placesIn(frame: Element, along: 'x' | 'y' | null): Place[] {
  const seen = new Map<string, Place>();
  for (const element of frame.querySelectorAll('[data-row]')) {
    const place = placeOf(element);
    seen.set(`${place.table} ${place.row}`, place);
  }
  const at = ({ element }: Place) => {
    if (along === null) return 0;
    const { left, right, top, bottom } = element.getBoundingClientRect();
    return along === 'x' ? left + right : top + bottom;
  };
  return [...seen.values()]
    .map((place) => ({ place, at: at(place) }))
    .sort((a, b) => a.place.table.localeCompare(b.place.table) || a.at - b.at || a.place.row - b.place.row)
    .map(({ place }) => place);
}

const STEPS: Readonly<Record<string, number>> = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };

/** Beside the arrows. */
const USED_KEYS: ReadonlySet<string> = new Set(['Home', 'End', 'Enter', ' ']);

/** Lets pointer and keyboard choose marks inside a frame; the frame itself holds the focus. */
export function markCursor(frame: HTMLElement, options: MarkCursorOptions): { release(): void } {
  let found: Place[] | null = null;
  /** Where marks stand is asked for at the first key: it has the browser lay out all that was redrawn beside this. */
  const placed = (): Place[] => {
    found ??= placesIn(frame, options.along);
    return found;
  };
  let at = -1;
  for (const { table, row, element } of [...frame.querySelectorAll('[data-row]')].map(placeOf)) {
    if (options.canPick(table, row)) element.classList.add('is-pickable');
  }
  const show = () => {
    const current = placed()[at];
    for (const element of frame.querySelectorAll('[data-current]')) element.removeAttribute('data-current');
    if (!current) return;
    for (const element of frame.querySelectorAll(`[data-row="${current.row}"]`)) {
      if (placeOf(element).table === current.table) element.setAttribute('data-current', '');
    }
    options.say((current.element.querySelector('title')?.textContent ?? '').replaceAll('\n', ' · '));
  };
  const onKey = (event: KeyboardEvent) => {
    const step = STEPS[event.key];
    if (step === undefined && !USED_KEYS.has(event.key)) return;
    const places = placed();
    if (places.length === 0) return;
    if (step !== undefined)
      at = at < 0 ? (step > 0 ? 0 : places.length - 1) : (at + step + places.length) % places.length;
    else if (event.key === 'Home') at = 0;
    else if (event.key === 'End') at = places.length - 1;
    else {
      const current = places[at];
      if (current) options.pick(current.table, current.row);
    }
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
