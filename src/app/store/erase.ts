import { deleteDB } from 'idb';
import { DATABASE } from './database.ts';

/** Our names begin with it; another program of the same origin keeps its own. */
const OURS = 'growout';

/** Removes all that this program has put into the browser. Throws where the browser does not let go of it. */
export async function eraseEverything(): Promise<void> {
  const names = new Set([DATABASE]);
  if (typeof indexedDB !== 'undefined') {
    for (const { name } of (await indexedDB.databases?.()) ?? []) if (name?.startsWith(OURS)) names.add(name);
    for (const name of names) await deleteDB(name);
  }
  for (const area of webStorage()) {
    for (const key of Object.keys(area)) if (key.startsWith(OURS)) area.removeItem(key);
  }
  if (typeof caches !== 'undefined') {
    for (const key of await caches.keys()) if (key.startsWith(OURS)) await caches.delete(key);
  }
  await eraseFiles();
}

/** Of the origin's own file system. The program writes none; an earlier or a later one may. */
async function eraseFiles(): Promise<void> {
  let root: FileSystemDirectoryHandle;
  try {
    root = await navigator.storage.getDirectory();
  } catch {
    // A browser without one, or one that keeps nothing.
    return;
  }
  const names: string[] = [];
  for await (const name of (root as unknown as { keys(): AsyncIterable<string> }).keys()) names.push(name);
  for (const name of names) if (name.startsWith(OURS)) await root.removeEntry(name, { recursive: true });
}

function webStorage(): Storage[] {
  try {
    return [localStorage, sessionStorage];
  } catch {
    // Storage is switched off: there is nothing in it.
    return [];
  }
}
