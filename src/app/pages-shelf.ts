import { computed, type ReadonlySignal, type Signal, signal } from '@preact/signals';
import type { ShippedPage } from './shipped-pages.ts';

/** A page that the user wrote, duplicated or opened: its file's text. */
interface UserPage {
  readonly id: string;
  readonly text: string;
}

/** Where the user's pages are kept. A page that cannot be kept is refused with a sentence. */
interface PageStore {
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
  /** Fetches what reads pages: until then the user's own are not listed. */
  begin(): Promise<void>;
}

const pageText = () => import('../pages/page-text.ts');
type PageText = Awaited<ReturnType<typeof pageText>>;

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

/** What the ids of the user's own pages begin with. */
export const OWN = 'own-';

export function makeShelf(shippedPages: readonly ShippedPage[], store: PageStore): Shelf {
  const shipped = shippedPages.map((page) => ({ ...page, own: false }));
  const reader = signal<PageText | null>(null);
  const begin = async (): Promise<PageText> => {
    reader.value ??= await pageText();
    return reader.value;
  };
  const own = computed(() => {
    const reading = reader.value;
    if (!reading) return [];
    return store.pages.value.map(
      ({ id, text }): ShelvedPage => ({ id, text, page: reading.parsePage(text), own: true }),
    );
  });
  const find = (id: string) => [...shipped, ...own.peek()].find((page) => page.id === id);
  const freeId = (stem: string): string => {
    if (!find(stem)) return stem;
    for (let k = 2; ; k += 1) if (!find(`${stem}-${k}`)) return `${stem}-${k}`;
  };
  const freeTitle = (title: string): string => {
    const taken = new Set([...shipped, ...own.peek()].map(({ page }) => page.front.title));
    if (!taken.has(title)) return title;
    for (let k = 2; ; k += 1) if (!taken.has(`${title} ${k}`)) return `${title} ${k}`;
  };
  const add = async ({ fileStem, parsePage }: PageText, text: string): Promise<string> => {
    const id = freeId(`${OWN}${fileStem(parsePage(text).front.title)}`);
    await store.savePage({ id, text });
    return id;
  };
  return {
    shipped,
    own,
    find,
    async create() {
      const [reading] = await Promise.all([begin(), store.ready]);
      return add(reading, reading.withTitle(reading.NEW_PAGE, freeTitle('New page')));
    },
    async duplicate({ text, page }) {
      const [reading] = await Promise.all([begin(), store.ready]);
      return add(reading, reading.withTitle(text, freeTitle(`${page.front.title} (copy)`)));
    },
    async open(name, text) {
      const [reading] = await Promise.all([begin(), store.ready]);
      if (text.length > LARGEST_PAGE) throw new Error(`${name} is too long for a page.`);
      if (text.includes('\0')) throw new Error(`${name} is not a text.`);
      const { problems } = reading.parsePage(text);
      const isUnnamed = problems.some(({ line, entry }) => line === 1 && entry === null);
      const title = name.replace(/\.(md|markdown)$/i, '');
      return add(reading, isUnnamed ? reading.withTitle(text, freeTitle(title)) : text);
    },
    save: (id, text) => store.savePage({ id, text }),
    remove: (id) => store.removePage(id),
    async begin() {
      await begin();
    },
  };
}
