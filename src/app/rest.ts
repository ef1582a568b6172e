/** Long enough for the first page to be worked out on a slow machine, ms. */
const LATEST_MS = 10_000;

/**
 * Fetches the scripts that nothing has wanted yet, when the browser has nothing else to do: from then on every part of the
 * program is here, whether or not its server still is. The built document names them (`src/tasks/preloads.ts`).
 */
export function fetchRest(): void {
  const named = document.querySelector<HTMLMetaElement>('meta[name="scripts-for-later"]')?.content ?? '';
  const fetchNow = (): void => {
    for (const address of named.split(' ').filter((each) => each !== '')) {
      const link = document.createElement('link');
      link.rel = 'modulepreload';
      link.href = address;
      document.head.append(link);
    }
  };
  if (typeof requestIdleCallback === 'function') requestIdleCallback(fetchNow, { timeout: LATEST_MS });
  else setTimeout(fetchNow, LATEST_MS);
}
