import type { BrowserContext } from '@playwright/test';

/** Milliseconds since a change: until every plot was drawn of it, with its bands or as yet without, and until all stood. */
export interface Redrawn {
  readonly plots: number;
  readonly whole: number;
}

/** What measures from inside the page: to the millisecond, and without the way to and from this process. */
export interface Probe {
  /** Milliseconds since the page was asked for; null until then. */
  readonly first: { text: number | null; plot: number | null };
  /** Opens a page of the notebook and waits until every entry is settled and drawn; milliseconds. */
  open(id: string): Promise<number>;
  /** Goes to the sheet of records, where no page is computed, and there sets the last day of the cohort (ISO 8601). */
  until(day: string): Promise<void>;
  /** Sets the last day of the cohort on the page that is open, and waits as `open` does. */
  change(day: string): Promise<Redrawn>;
  /** Takes a level of a column into the cohort, or out of it again, by a click, and waits as `open` does. */
  toggle(legend: string, level: string): Promise<Redrawn>;
  /** Gaps between the frames, in milliseconds, while an element is scrolled from a share of its height on. */
  scroll(selector: string, from: number, frames: number): Promise<number[]>;
  /** Starts the clock at the next press of Enter; `after` waits until nothing more is redrawn. */
  onEnter(): void;
  after(selector: string, text: string): Promise<number>;
  /** Entries of the page that failed. */
  failed(): number;
}

declare global {
  interface Window {
    bench: Probe;
  }
}

export async function installProbe(context: BrowserContext): Promise<void> {
  // The runner's compiler wraps functions in a helper of its own.
  await context.addInitScript('globalThis.__name ??= (value) => value');
  await context.addInitScript(probe);
}

/** Runs in the page. Text counts as readable from so many characters on. */
function probe(): void {
  const READABLE = 200;
  const QUIET_FRAMES = 3;
  let changed = 0;
  let entered = 0;
  /** Whether what was changed has reached the page's entries, and when all its plots had been drawn of it. */
  let isUnderWay = false;
  let plotted = 0;
  /** The entries of the page that is to be redrawn. */
  let watched: HTMLElement[] = [];
  const first: Probe['first'] = { text: null, plot: null };
  const frame = () => new Promise<number>((resolve) => requestAnimationFrame(resolve));
  const find = <E extends Element>(selector: string): E => {
    const element = document.querySelector<E>(selector);
    if (!element) throw new Error(`the page must hold ${selector}`);
    return element;
  };

  const watch = () => {
    const main = document.querySelector('main');
    if (first.text === null && (main?.textContent ?? '').length >= READABLE) first.text = performance.now();
    if (first.plot === null && document.querySelector('[data-kind="chart"] svg'))
      first.plot = performance.now();
    if (first.text === null || first.plot === null) requestAnimationFrame(watch);
  };
  const isAtWork = () => document.querySelector('[data-status="running"], [data-status="waiting"]') !== null;
  const isOpen = ({ dataset }: HTMLElement) => dataset.status === 'running' || dataset.status === 'waiting';
  const isLate = (entry: HTMLElement) =>
    entry.dataset.kind === 'chart' && entry.dataset.draft !== 'true' && isOpen(entry);
  // At every change of the document: to search all of it each time would take from what is measured.
  const look = () => {
    if (plotted > 0) return;
    isUnderWay ||= watched.some(isOpen);
    if (isUnderWay && !watched.some(isLate)) plotted = changed;
  };
  document.addEventListener('DOMContentLoaded', () => {
    new MutationObserver(() => {
      changed = performance.now();
      look();
    }).observe(document.body, { childList: true, subtree: true, characterData: true, attributes: true });
    watch();
  });

  /** Until `ready` holds and nothing has changed for some frames; when it last changed. */
  async function quiet(ready: () => boolean): Promise<number> {
    for (let still = 0; still < QUIET_FRAMES; ) {
      const before = changed;
      await frame();
      still = ready() && changed === before ? still + 1 : 0;
    }
    return changed;
  }
  const isSettled = () => document.querySelector('[data-entry]') !== null && !isAtWork();
  const cohort = () => find<HTMLElement>('[data-testid="cohort"]').textContent;
  async function choices(): Promise<void> {
    if (!document.querySelector('.cohort-choices')) find<HTMLButtonElement>('.cohort button').click();
    await quiet(() => document.querySelector('.cohort-choices') !== null);
  }

  /** Of a change that `act` makes on the page that is open. */
  async function redrawn(act: () => void): Promise<Redrawn> {
    const before = cohort();
    watched = [...document.querySelectorAll<HTMLElement>('[data-entry]')];
    [isUnderWay, plotted] = [false, 0];
    const began = performance.now();
    act();
    const whole = (await quiet(() => isSettled() && cohort() !== before)) - began;
    return { plots: plotted > 0 ? plotted - began : whole, whole };
  }

  function setLastDay(day: string): void {
    const to = [...document.querySelectorAll<HTMLInputElement>('.cohort-choices input[type="date"]')][1]!;
    to.value = day;
    to.dispatchEvent(new Event('change', { bubbles: true }));
  }

  window.bench = {
    first,
    async open(id) {
      const began = performance.now();
      location.hash = id;
      const isOpen = () =>
        document.querySelector(`nav.contents a[href="#${id}"][aria-current="page"]`) !== null &&
        document.querySelector('[data-testid="page"]') !== null;
      return (await quiet(() => isOpen() && isSettled())) - began;
    },
    async until(day) {
      location.hash = 'records';
      await quiet(() => document.querySelector('[role="grid"]') !== null);
      await choices();
      const before = cohort();
      setLastDay(day);
      await quiet(() => cohort() !== before);
    },
    async change(day) {
      await choices();
      return redrawn(() => setLastDay(day));
    },
    async toggle(legend, level) {
      await choices();
      const group = [...document.querySelectorAll('.cohort-choices fieldset')].find(
        (each) => each.querySelector('legend')?.textContent === legend,
      );
      const label = [...(group?.querySelectorAll('label') ?? [])].find((each) =>
        each.textContent.trim().startsWith(level),
      );
      if (!label) throw new Error(`the cohort must have a level of ${legend}: ${level}`);
      return redrawn(() => label.click());
    },
    async scroll(selector, from, frames) {
      const element = find<HTMLElement>(selector);
      element.scrollTop = (element.scrollHeight - element.clientHeight) * from;
      await quiet(() => true);
      const gaps: number[] = [];
      let last = await frame();
      for (let k = 0; k < frames; k++) {
        element.scrollTop += element.clientHeight / 2;
        const now = await frame();
        gaps.push(now - last);
        last = now;
      }
      return gaps;
    },
    onEnter() {
      const listen = (event: KeyboardEvent) => {
        if (event.key !== 'Enter') return;
        entered = performance.now();
        removeEventListener('keydown', listen, true);
      };
      addEventListener('keydown', listen, true);
    },
    after: async (selector, text) =>
      (await quiet(() => document.querySelector(selector)?.textContent === text)) - entered,
    failed: () => document.querySelectorAll('[data-status="failed"], [data-status="blocked"]').length,
  };
}
