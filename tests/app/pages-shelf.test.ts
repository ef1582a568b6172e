import { describe, expect, it } from 'vitest';
import { makeShelf, tabPages } from '../../src/app/pages-shelf.ts';
import { parsePage } from '../../src/pages/parse-page.ts';

const TEXT = '---\ntitle: Growth\n---\n\nWords.\n';
const shelfOf = (store = tabPages()) =>
  makeShelf([{ id: 'growth', text: TEXT, page: parsePage(TEXT) }], store);

describe('makeShelf', () => {
  it('duplicates a shipped page under another title and id, and leaves the shipped one alone', async () => {
    const shelf = shelfOf();
    const first = await shelf.duplicate(shelf.shipped[0]!);
    const second = await shelf.duplicate(shelf.shipped[0]!);
    expect(shelf.own.value.map(({ page }) => page.front.title)).toEqual(['Growth (copy)', 'Growth (copy) 2']);
    expect(new Set([first, second, 'growth']).size).toBe(3);
    expect(shelf.find('growth')?.text).toBe(TEXT);
    expect(shelf.find(first)?.text).toContain('Words.');
  });

  it('never gives a new page the id of one that is still being read in', async () => {
    const store = tabPages();
    let read: () => void = () => undefined;
    const ready = new Promise<void>((resolve) => {
      read = resolve;
    });
    const shelf = shelfOf({ ...store, ready });
    const made = shelf.create();
    await store.savePage({ id: 'own-new-page', text: 'kept before' });
    read();
    expect(await made).not.toBe('own-new-page');
    expect(shelf.find('own-new-page')?.text).toBe('kept before');
  });

  it('opens a file without front matter under its name, and refuses what is no text', async () => {
    const shelf = shelfOf();
    const id = await shelf.open('Winter feet.md', 'Only words.');
    expect(shelf.find(id)?.page.front.title).toBe('Winter feet');
    await expect(shelf.open('photo.md', 'a\0b')).rejects.toThrow('photo.md is not a text.');
    await expect(shelf.open('long.md', 'x'.repeat(1_000_001))).rejects.toThrow('too long');
  });

  it('saves and removes', async () => {
    const shelf = shelfOf();
    const id = await shelf.create();
    await shelf.save(id, TEXT);
    expect(shelf.find(id)?.text).toBe(TEXT);
    await shelf.remove(id);
    expect(shelf.find(id)).toBeUndefined();
  });
});
