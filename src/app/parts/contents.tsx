import type { ShippedPage } from '../shipped-pages.ts';

/** The pages, with what each answers. */
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
