import { useSignal } from '@preact/signals';
import type { AppState } from '../app-state.ts';
import { openPages, type Shelf, type ShelvedPage } from '../pages-shelf.ts';

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
  /** Only a narrow window folds the list away. */
  const unfolded = useSignal(false);
  const choose = (): void => {
    unfolded.value = false;
    onChoose();
  };
  const shown = [...shelf.shipped, ...own].find(({ id }) => id === current);
  const link = ({ id, page }: ShelvedPage) => (
    <li key={id}>
      <a href={`#${id}`} onClick={choose} aria-current={id === current ? 'page' : undefined}>
        <span class="contents-title">{page.front.title}</span>
        <span class="contents-summary">{page.front.summary}</span>
      </a>
    </li>
  );
  return (
    <nav class="contents" aria-label="Pages">
      <button
        type="button"
        class="button contents-fold"
        aria-expanded={unfolded.value}
        onClick={() => {
          unfolded.value = !unfolded.value;
        }}
      >
        Pages: {current === RECORDS ? 'Records' : (shown?.page.front.title ?? '')}
      </button>
      <ul class={unfolded.value ? 'is-unfolded' : undefined}>
        <li>
          <a href={`#${RECORDS}`} onClick={choose} aria-current={current === RECORDS ? 'page' : undefined}>
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
              choose();
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
                choose();
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
