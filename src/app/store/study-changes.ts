import type { Amendment } from '../../sheet/amendment.ts';
import type { DerivedColumn } from '../../sheet/derived-column.ts';
import type { KeptPage, KeptRecords, SavedCohort, Study } from './kept.ts';

/** What can be changed in a study, asked of the tab that holds it and of the store that keeps it alike. */
export interface StudyChanges {
  /** New records with what was amended in them, in place of those before. */
  replaceRecords(records: KeptRecords, amendments: readonly Amendment[]): Promise<void>;
  append(amendments: readonly Amendment[]): Promise<void>;
  saveCohort(cohort: SavedCohort): Promise<void>;
  removeCohort(name: string): Promise<void>;
  replaceDerived(columns: readonly DerivedColumn[]): Promise<void>;
  savePage(page: KeptPage): Promise<void>;
  removePage(id: string): Promise<void>;
  /** Plain JSON by name. */
  saveSetting(name: string, value: unknown): Promise<void>;
  replaceAll(study: Study): Promise<void>;
}
