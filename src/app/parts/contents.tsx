import type { ShippedPage } from '../shipped-pages.ts';

/** The address of the records, beside those of the pages. */
export const RECORDS = 'records';

/** The records, and the pages with what each answers. */
export function Contents({
  pages,
  current,
  onChoose,
}: {
  readonly pages: readonly ShippedPage[];
  readonly current: string;
  /** Also when the page chosen is the one that stands. */
  readonly onChoose: () => void;
}) {
  return (
    <nav class="contents" aria-label="Pages">
      <ul>
        <li>
          <a href={`#${RECORDS}`} onClick={onChoose} aria-current={current === RECORDS ? 'page' : undefined}>
            <span class="contents-title">Records</span>
            <span class="contents-summary">Every visit, foot by foot: look through, change, add.</span>
          </a>
        </li>
        {pages.map(({ id, page }) => (
          <li key={id}>
            <a href={`#${id}`} onClick={onChoose} aria-current={id === current ? 'page' : undefined}>
              <span class="contents-title">{page.front.title}</span>
              <span class="contents-summary">{page.front.summary}</span>
            </a>
          </li>
        ))}
      </ul>
    </nav>
  );
}
