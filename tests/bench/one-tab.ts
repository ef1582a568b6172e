import { medianOf, withPrefix } from './look-up.ts';
import type { PartResult } from './results.ts';
import { gigabytes, markdownTable, rangeInSeconds, secondsOf, whole } from './words.ts';

/** What one tab of a browser did with herds of each size, as Markdown: opening, memory, pages, changes of cohort. */
export function oneTabText(results: readonly PartResult[]): string {
  const sizes = [...new Set(results.filter(({ part }) => part === 'browser').map(({ rows }) => rows))].sort(
    (a, b) => a - b,
  );
  const pages = Math.max(0, ...sizes.map((rows) => withPrefix(results, 'browser page ', rows).length));
  const table = markdownTable(
    [
      'foot rows',
      'feet',
      'horse-years',
      'file read',
      'then the first page',
      'most memory of the tab',
      'pages',
    ],
    sizes.map((rows) => {
      const herd = results.find((each) => each.rows === rows && each.herd)?.herd;
      const opened = withPrefix(results, 'browser page ', rows);
      const memory = withPrefix(results, 'browser memory ', rows);
      return [
        whole(rows),
        herd ? whole(herd.feet) : '–',
        herd ? whole(herd.horseYears) : '–',
        timed(medianOf(results, 'browser load parquet', rows)),
        timed(opened[0] ?? null),
        memory.length > 0 ? gigabytes(Math.max(...memory)) : 'not measured',
        pagesText(opened, pages, medianOf(results, 'browser failed', rows)),
      ];
    }),
  );
  const changes = sizes
    .map((rows) => ({
      rows,
      plots: withPrefix(results, 'browser cohort ', rows),
      all: withPrefix(results, 'browser whole ', rows),
    }))
    .filter(({ plots, all }) => plots.length === pages && all.length === pages)
    .map(
      ({ rows, plots, all }) =>
        `${rangeInSeconds(plots)} a page at ${whole(rows)} rows (${rangeInSeconds(all)} until every band, table and sentence stands)`,
    );
  return changes.length === 0
    ? table
    : `${table}\nA change to a cohort never seen before takes, until every plot is redrawn, ${changes.join(', ')}.\n`;
}

const timed = (ms: number | null): string => (ms === null ? 'not timed' : secondsOf(ms));

function pagesText(opened: readonly number[], pages: number, failed: number | null): string {
  const each = opened.length === 0 ? 'none' : `${opened.length} opened, at ${rangeInSeconds(opened)} each`;
  const rest = opened.length < pages ? `; the other ${pages - opened.length} not tried` : '';
  const faults =
    failed === null
      ? '; whether an entry failed was not kept'
      : failed === 0
        ? '; none failed'
        : `; ${failed} failed`;
  return `${each}${rest}${faults}`;
}
