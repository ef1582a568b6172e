import { createStore, entries, set } from 'idb-keyval';
import { type Mapping, type RememberedMapping, rememberMapping } from '../intake/mapping.ts';

const store = () => createStore('growout-mappings', 'by-headers');

/** Mappings the user has confirmed before. Without storage (a private window) there are none. */
export async function rememberedMappings(): Promise<RememberedMapping[]> {
  try {
    return (await entries<string, RememberedMapping>(store())).map(([, mapping]) => mapping);
  } catch {
    return [];
  }
}

/** Keeps a confirmed mapping for the next file with the same headers; false where it could not be kept. */
export async function keepMapping(mapping: Mapping): Promise<boolean> {
  try {
    await set(mapping.signature, rememberMapping(mapping), store());
    return true;
  } catch {
    return false;
  }
}
