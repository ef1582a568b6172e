import { effect, signal } from '@preact/signals';
import { render } from 'preact';
import type { HerdLink } from './herd-link.ts';
import { makeShelf } from './pages-shelf.ts';
import { App } from './parts/app.tsx';
import { bring } from './parts/later.tsx';
import { cohortBar, pageHost } from './parts/later-parts.ts';
import { fetchRest } from './rest.ts';
import type { Stage } from './rpc.ts';
import { SAMPLES } from './samples.ts';
import { shippedPages } from './shipped-pages.ts';
import { makeState } from './state.ts';

/**
 * Draws the program in the document and opens the records. `asked` resolves when the engine has been asked for. The
 * function given back tells how far it is.
 */
export function openShell(
  herd: HerdLink,
  ready: Promise<unknown>,
  asked: Promise<void>,
): (stage: Stage) => void {
  const current = signal(location.hash.slice(1));
  const state = makeState(herd, ready, SAMPLES);
  const shelf = makeShelf(shippedPages(), state.keeping);

  addEventListener('hashchange', () => {
    current.value = location.hash.slice(1);
    state.sheet.value = { kind: 'none' };
    state.opened.value = null;
    scrollTo(0, 0);
  });

  // What takes the whole place begins at its top: how files are read, then what became of their rows, then the pages.
  let shown = state.sheet.value.kind;
  effect(() => {
    const { kind } = state.sheet.value;
    if (kind !== shown) scrollTo(0, 0);
    shown = kind;
  });

  const root = document.getElementById('app');
  if (!root) throw new Error('the document must hold an element with id app');
  root.replaceChildren();
  render(<App state={state} shelf={shelf} current={current} />, root);
  void state.begin();

  // What computes pages comes while the engine is on its way. Where it does not, the place that wants it says so.
  void asked.then(() => {
    for (const part of [bring(pageHost), bring(cohortBar), shelf.begin()]) part.catch(() => undefined);
  });
  const stop = effect(() => {
    if (!state.loaded.value) return;
    queueMicrotask(() => stop());
    fetchRest();
  });

  return (stage) => {
    if (state.busy.value) state.busy.value = { ...state.busy.value, ...stage };
  };
}
