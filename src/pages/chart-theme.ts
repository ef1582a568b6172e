import { type ReadonlySignal, signal } from '@preact/signals';
import { options } from 'preact';
import type { ChartTheme } from '../plots/palette.ts';

function themeNow(): ChartTheme {
  const stated = document.documentElement.dataset.theme;
  if (stated === 'dark' || stated === 'light') return stated;
  return window.matchMedia?.('(prefers-color-scheme: dark)').matches ? 'dark' : 'light';
}

/** Runs a change so that what it draws stands before this returns: a printer does not wait. */
function atOnce(change: () => void): void {
  const { debounceRendering } = options;
  options.debounceRendering = (render) => render();
  change();
  if (debounceRendering) options.debounceRendering = debounceRendering;
  else delete options.debounceRendering;
}

let theme: ReadonlySignal<ChartTheme> | null = null;

/** The theme that charts are drawn in: what the page states, else what the system prefers, else the printer's. */
export function chartTheme(): ReadonlySignal<ChartTheme> {
  if (theme) return theme;
  const current = signal(themeNow());
  const follow = () => {
    current.value = themeNow();
  };
  new MutationObserver(follow).observe(document.documentElement, { attributeFilter: ['data-theme'] });
  window.matchMedia?.('(prefers-color-scheme: dark)').addEventListener('change', follow);
  window.addEventListener('beforeprint', () =>
    atOnce(() => {
      current.value = 'print';
    }),
  );
  window.addEventListener('afterprint', follow);
  theme = current;
  return theme;
}
