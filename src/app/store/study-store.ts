import type { IDBPTransaction } from 'idb';
import type { RememberedMapping } from '../../intake/mapping.ts';
import { type Database, notKept, type StoreName, type StudySchema } from './database.ts';
import { type KeptRecords, NotKept, type Study } from './kept.ts';
import type { StudyChanges } from './study-changes.ts';

/**
 * Keeps a study in this browser. Every change is one transaction, durable when its promise resolves, and rejects with
 * `NotKept` otherwise, having changed nothing. Only the tab that took the pen last can write: the pen is looked at
 * inside each transaction, so that two tabs never both write, whatever their locks say.
 */
export interface StudyStore extends StudyChanges {
  /** From now on this tab writes and no other. */
  takePen(): Promise<void>;
  /** Grows with every change, of any tab. */
  revision(): Promise<number>;
  read(): Promise<Study>;
  saveMapping(mapping: RememberedMapping): Promise<void>;
  close(): void;
}

const STUDY_STORES = [
  'records',
  'files',
  'amendments',
  'cohorts',
  'derived',
  'pages',
  'mappings',
  'settings',
] as const;

type Writing<S extends StoreName> = IDBPTransaction<StudySchema, (S | 'desk')[], 'readwrite'>;

export function studyStore(database: Database, tab: string): StudyStore {
  /** Writes to `stores`, all or nothing. `strict`: reported done only when the disk has it. */
  async function write<S extends StoreName>(
    stores: readonly S[],
    change: (transaction: Writing<S>) => Iterable<Promise<unknown>>,
  ): Promise<void> {
    let transaction: Writing<S> | null = null;
    try {
      transaction = database.transaction([...stores, 'desk' as const], 'readwrite', {
        durability: 'strict',
      }) as Writing<S>;
      // Awaited by all ways out: an abort rejects it.
      const done = transaction.done;
      done.catch(() => undefined);
      const desk = (transaction as Writing<never>).objectStore('desk');
      try {
        if ((await desk.get('writer')) !== tab) throw new NotKept('elsewhere');
        const revision = Number((await desk.get('revision')) ?? 0) + 1;
        const requests: Promise<unknown>[] = [];
        const ask = (request: Promise<unknown>): void => {
          // Where a later one cannot even be asked for, nobody waits for the earlier.
          request.catch(() => undefined);
          requests.push(request);
        };
        ask(desk.put(revision, 'revision'));
        for (const request of change(transaction)) ask(request);
        await Promise.all(requests);
      } catch (error) {
        abort(transaction);
        throw error;
      }
      await done;
    } catch (error) {
      // A full disk shows in the transaction; its requests only say that it was aborted.
      throw notKept(transaction?.error ?? error);
    }
  }

  return {
    async takePen() {
      try {
        const transaction = database.transaction('desk', 'readwrite', { durability: 'strict' });
        await Promise.all([transaction.store.put(tab, 'writer'), transaction.done]);
      } catch (error) {
        throw notKept(error);
      }
    },
    async revision() {
      return Number((await database.get('desk', 'revision')) ?? 0);
    },
    async read() {
      const transaction = database.transaction(STUDY_STORES, 'readonly');
      const all = <S extends (typeof STUDY_STORES)[number]>(name: S) =>
        transaction.objectStore(name).getAll();
      const [records, files, amendments, cohorts, derived, pages, mappings, names, values] =
        await Promise.all([
          transaction.objectStore('records').get('records'),
          all('files'),
          all('amendments'),
          all('cohorts'),
          all('derived'),
          all('pages'),
          all('mappings'),
          transaction.objectStore('settings').getAllKeys(),
          all('settings'),
        ]);
      const settings = Object.fromEntries(names.map((name, i) => [name, values[i]]));
      return {
        records: records ? { ...records, files } : null,
        amendments,
        cohorts,
        derived,
        pages,
        mappings,
        settings,
      };
    },
    replaceRecords: (records, amendments) =>
      write(['records', 'files', 'amendments'], function* (t) {
        yield* putRecords(t, records);
        yield* putList(t.objectStore('amendments'), amendments);
      }),
    append: (amendments) => write(['amendments'], (t) => addAll(t.objectStore('amendments'), amendments)),
    saveCohort: (cohort) => write(['cohorts'], (t) => [t.objectStore('cohorts').put(cohort)]),
    removeCohort: (name) => write(['cohorts'], (t) => [t.objectStore('cohorts').delete(name)]),
    replaceDerived: (columns) => write(['derived'], (t) => putList(t.objectStore('derived'), columns)),
    savePage: (page) => write(['pages'], (t) => [t.objectStore('pages').put(page)]),
    removePage: (id) => write(['pages'], (t) => [t.objectStore('pages').delete(id)]),
    saveMapping: (mapping) => write(['mappings'], (t) => [t.objectStore('mappings').put(mapping)]),
    saveSetting: (name, value) => write(['settings'], (t) => [t.objectStore('settings').put(value, name)]),
    replaceAll: (study) =>
      write(STUDY_STORES, function* (t) {
        if (study.records) yield* putRecords(t, study.records);
        else yield* dropRecords(t);
        yield* putList(t.objectStore('amendments'), study.amendments);
        yield* putList(t.objectStore('derived'), study.derived);
        yield* putList(t.objectStore('cohorts'), study.cohorts);
        yield* putList(t.objectStore('pages'), study.pages);
        yield* putList(t.objectStore('mappings'), study.mappings);
        yield t.objectStore('settings').clear();
        for (const [name, value] of Object.entries(study.settings)) {
          yield t.objectStore('settings').put(value, name);
        }
      }),
    close: () => database.close(),
  };
}

interface List<T> {
  clear(): Promise<void>;
  put(value: T): Promise<unknown>;
}

// Requests are made one by one as they are asked for: the first that throws is the last.
function* putList<T>(store: List<T>, values: readonly T[]): Generator<Promise<unknown>> {
  yield store.clear();
  for (const value of values) yield store.put(value);
}

function* addAll<T>(
  store: { add(value: T): Promise<unknown> },
  values: readonly T[],
): Generator<Promise<unknown>> {
  for (const value of values) yield store.add(value);
}

type RecordsTransaction = Pick<Writing<'records' | 'files'>, 'objectStore'>;

function* putRecords(
  transaction: RecordsTransaction,
  { files, hemisphere }: KeptRecords,
): Generator<Promise<unknown>> {
  yield transaction.objectStore('records').put({ hemisphere }, 'records');
  yield* putList(transaction.objectStore('files'), files);
}

function* dropRecords(transaction: RecordsTransaction): Generator<Promise<unknown>> {
  yield transaction.objectStore('records').clear();
  yield transaction.objectStore('files').clear();
}

function abort(transaction: { abort(): void }): void {
  try {
    transaction.abort();
  } catch {
    // Already over.
  }
}
