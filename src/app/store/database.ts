import { type DBSchema, type IDBPDatabase, type IDBPTransaction, openDB, type StoreNames } from 'idb';
import type { RememberedMapping } from '../../intake/mapping.ts';
import type { Amendment } from '../../sheet/amendment.ts';
import type { DerivedColumn } from '../../sheet/derived-column.ts';
import { type KeptFile, type KeptPage, type KeptRecords, NotKept, type SavedCohort } from './kept.ts';

export const DATABASE = 'growout';

export interface StudySchema extends DBSchema {
  /** One value, `hemisphere`, where there are records of the user's own. */
  records: { key: 'records'; value: Pick<KeptRecords, 'hemisphere'> };
  /** By position. */
  files: { key: number; value: KeptFile };
  /** By position; only ever added to, but for new records in their place. */
  amendments: { key: number; value: Amendment };
  cohorts: { key: string; value: SavedCohort };
  derived: { key: number; value: DerivedColumn };
  pages: { key: string; value: KeptPage };
  mappings: { key: string; value: RememberedMapping };
  settings: { key: string; value: unknown };
  /** Who may write, and how often was written. */
  desk: { key: 'writer' | 'revision'; value: string | number };
}

export type StoreName = StoreNames<StudySchema>;
export type Database = IDBPDatabase<StudySchema>;
type Upgrade = (
  database: Database,
  transaction: IDBPTransaction<StudySchema, StoreName[], 'versionchange'>,
) => void | Promise<void>;

/** Step k leads from version k to k + 1. A step once shipped is never changed; new ones are added. */
export const UPGRADES: readonly Upgrade[] = [
  (database) => {
    for (const name of ['records', 'settings', 'desk'] as const) database.createObjectStore(name);
    for (const name of ['files', 'amendments', 'derived'] as const) {
      database.createObjectStore(name, { autoIncrement: true });
    }
    database.createObjectStore('cohorts', { keyPath: 'name' });
    database.createObjectStore('pages', { keyPath: 'id' });
    database.createObjectStore('mappings', { keyPath: 'signature' });
  },
];

export interface OpenOptions {
  readonly name?: string;
  readonly upgrades?: readonly Upgrade[];
  /** Another tab erases or upgrades, or the browser closed the database: it cannot be used any more. */
  readonly closed?: (why: 'erased-or-upgraded' | 'lost') => void;
}

/**
 * Opens what is kept, bringing an older version up to date. Throws `NotKept`: `newer-program` where a newer program wrote
 * it, `no-storage` where the browser refuses.
 */
export async function openDatabase(options: OpenOptions = {}): Promise<Database> {
  const { name = DATABASE, upgrades = UPGRADES, closed } = options;
  if (typeof indexedDB === 'undefined') throw new NotKept('no-storage');
  try {
    const database = await openDB<StudySchema>(name, upgrades.length, {
      async upgrade(fresh, from, _to, transaction) {
        for (const step of upgrades.slice(from)) await step(fresh, transaction);
      },
      blocking() {
        database.close();
        closed?.('erased-or-upgraded');
      },
      terminated: () => closed?.('lost'),
    });
    return database;
  } catch (error) {
    throw notKept(error, 'no-storage');
  }
}

/** Any failure of storage as `NotKept`. */
export function notKept(error: unknown, otherwise: 'no-storage' | 'failed' = 'failed'): NotKept {
  if (error instanceof NotKept) return error;
  const { name, message } = error instanceof Error ? error : new Error(String(error));
  if (name === 'QuotaExceededError') return new NotKept('full');
  if (name === 'VersionError') return new NotKept('newer-program');
  if (name === 'SecurityError' || name === 'InvalidStateError') return new NotKept('no-storage');
  return new NotKept(otherwise, otherwise === 'failed' ? message : '');
}
