import { openPages, type Shelf, type ShelvedPage } from '../pages-shelf.ts';
import type { AppState } from '../state.ts';

/** The address of the records, beside those of the pages. */
export const RECORDS = 'records';

/** The records, and the pages with what each answers. */
export function Contents({
  state,
  shelf,
  current,
  onChoose,
  onNew,
}: {
  readonly state: AppState;
  readonly shelf: Shelf;
  readonly current: string;
  /** Also when the page chosen is the one that stands. */
  readonly onChoose: () => void;
  readonly onNew: () => void;
}) {
  const own = shelf.own.value;
  const link = ({ id, page }: ShelvedPage) => (
    <li key={id}>
      <a href={`#${id}`} onClick={onChoose} aria-current={id === current ? 'page' : undefined}>
        <span class="contents-title">{page.front.title}</span>
        <span class="contents-summary">{page.front.summary}</span>
      </a>
    </li>
  );
  return (
    <nav class="contents" aria-label="Pages">
      <ul>
        <li>
          <a href={`#${RECORDS}`} onClick={onChoose} aria-current={current === RECORDS ? 'page' : undefined}>
            <span class="contents-title">Records</span>
            <span class="contents-summary">Every visit, foot by foot: look through, change, add.</span>
          </a>
        </li>
        {shelf.shipped.map(link)}
        {own.length > 0 && <li class="contents-head">Your pages</li>}
        {own.map(link)}
        <li class="contents-actions">
          <button
            type="button"
            class="button"
            onClick={() => {
              onChoose();
              onNew();
            }}
          >
            New page
          </button>
          <label class="button">
            Open a page
            <input
              type="file"
              multiple
              accept=".md,.markdown,text/markdown"
              class="visually-hidden"
              onChange={(event) => {
                const input = event.currentTarget;
                onChoose();
                void openPages(shelf, [...(input.files ?? [])], state).then(() => {
                  input.value = '';
                });
              }}
            />
          </label>
        </li>
      </ul>
    </nav>
  );
}
