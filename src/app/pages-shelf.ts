import { computed, type ReadonlySignal, type Signal, signal } from '@preact/signals';
import type { Page } from '../pages/page.ts';
import { fileStem, NEW_PAGE, withTitle } from '../pages/page-text.ts';
import { parsePage } from '../pages/parse-page.ts';
import type { ShippedPage } from './shipped-pages.ts';

/** A page that the user wrote, duplicated or opened: its file's text. */
export interface UserPage {
  readonly id: string;
  readonly text: string;
}

/** Where the user's pages are kept. A page that cannot be kept is refused with a sentence. */
export interface PageStore {
  readonly pages: ReadonlySignal<readonly UserPage[]>;
  /** Resolves when `pages` holds what is kept: before, a new page could take the place of a kept one. */
  readonly ready: Promise<void>;
  savePage(page: UserPage): Promise<void>;
  removePage(id: string): Promise<void>;
}

/** Pages that last as long as the tab. */
export function tabPages(): PageStore {
  const pages = signal<readonly UserPage[]>([]);
  return {
    pages,
    ready: Promise.resolve(),
    async savePage(page) {
      const others = pages.value.filter(({ id }) => id !== page.id);
      const at = pages.value.findIndex(({ id }) => id === page.id);
      pages.value =
        at < 0 ? [...others, page] : pages.value.map((each) => (each.id === page.id ? page : each));
    },
    async removePage(id) {
      pages.value = pages.value.filter((page) => page.id !== id);
    },
  };
}

/** A page as the contents list it. */
export interface ShelvedPage extends ShippedPage {
  /** The user's own can be written in; a shipped one is duplicated first. */
  readonly own: boolean;
}

/** Larger texts are no pages: they would only stall the tab. */
const LARGEST_PAGE = 1_000_000;

/** All pages, shipped and the user's own, and what can be done with them. */
export interface Shelf {
  readonly shipped: readonly ShelvedPage[];
  readonly own: ReadonlySignal<readonly ShelvedPage[]>;
  find(id: string): ShelvedPage | undefined;
  /** Resolve with the id of the page made. */
  create(): Promise<string>;
  duplicate(page: ShelvedPage): Promise<string>;
  /** Opens the text of a page's file. Rejects with a sentence when it is none. */
  open(name: string, text: string): Promise<string>;
  save(id: string, text: string): Promise<void>;
  remove(id: string): Promise<void>;
}

/** Opens those files that are pages and goes to the last of them; resolves with the others. */
export async function openPages(
  shelf: Shelf,
  files: readonly File[],
  told: { readonly trouble: Signal<string | null> },
): Promise<readonly File[]> {
  const isPage = (file: File) => /\.(md|markdown)$/i.test(file.name);
  for (const file of files.filter(isPage)) {
    try {
      location.hash = await shelf.open(file.name, await file.text());
    } catch (error) {
      told.trouble.value = error instanceof Error ? error.message : String(error);
    }
  }
  return files.filter((file) => !isPage(file));
}

const PREFIX = 'own-';

export function makeShelf(shippedPages: readonly ShippedPage[], store: PageStore): Shelf {
  const shipped = shippedPages.map((page) => ({ ...page, own: false }));
  const own = computed(() =>
    store.pages.value.map(({ id, text }): ShelvedPage => ({ id, text, page: parsePage(text), own: true })),
  );
  const find = (id: string) => [...shipped, ...own.peek()].find((page) => page.id === id);
  const freeId = (title: string): string => {
    const stem = `${PREFIX}${fileStem(title)}`;
    if (!find(stem)) return stem;
    for (let k = 2; ; k += 1) if (!find(`${stem}-${k}`)) return `${stem}-${k}`;
  };
  const freeTitle = (title: string): string => {
    const taken = new Set([...shipped, ...own.peek()].map(({ page }) => page.front.title));
    if (!taken.has(title)) return title;
    for (let k = 2; ; k += 1) if (!taken.has(`${title} ${k}`)) return `${title} ${k}`;
  };
  const add = async (text: string, page: Page): Promise<string> => {
    const id = freeId(page.front.title);
    await store.savePage({ id, text });
    return id;
  };
  return {
    shipped,
    own,
    find,
    async create() {
      await store.ready;
      const text = withTitle(NEW_PAGE, freeTitle('New page'));
      return add(text, parsePage(text));
    },
    async duplicate({ text, page }) {
      await store.ready;
      const copy = withTitle(text, freeTitle(`${page.front.title} (copy)`));
      return add(copy, parsePage(copy));
    },
    async open(name, text) {
      await store.ready;
      if (text.length > LARGEST_PAGE) throw new Error(`${name} is too long for a page.`);
      if (text.includes('\0')) throw new Error(`${name} is not a text.`);
      const page = parsePage(text);
      const named = page.problems.some(({ line, entry }) => line === 1 && entry === null);
      const kept = named ? withTitle(text, freeTitle(name.replace(/\.(md|markdown)$/i, ''))) : text;
      return add(kept, named ? parsePage(kept) : page);
    },
    save: (id, text) => store.savePage({ id, text }),
    remove: (id) => store.removePage(id),
  };
}
