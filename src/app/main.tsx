import './no-eval.ts';
import './theme.css';
import './app.css';
import './parts/keeping.css';
import { signal } from '@preact/signals';
import { render } from 'preact';
import { makeShelf } from './pages-shelf.ts';
import { App } from './parts/app.tsx';
import { SAMPLES } from './samples.ts';
import { shippedPages } from './shipped-pages.ts';
import { makeState } from './state.ts';
import { openHerdWorker, startHerd } from './worker-client.ts';

const current = signal(location.hash.slice(1));
const herd = openHerdWorker();
const ready = startHerd(herd, (stage) => {
  if (state.busy.value) state.busy.value = { ...state.busy.value, ...stage };
});
const state = makeState(herd, ready, SAMPLES);

const shelf = makeShelf(shippedPages(), state.keeping);

addEventListener('hashchange', () => {
  current.value = location.hash.slice(1);
  state.sheet.value = { kind: 'none' };
  state.opened.value = null;
  scrollTo(0, 0);
});

const root = document.getElementById('app');
if (!root) throw new Error('the document must hold an element with id app');
root.replaceChildren();
render(<App state={state} shelf={shelf} current={current} />, root);
void state.begin();
