import type { ReadonlySignal } from '@preact/signals';
import type { Mapping } from '../intake/mapping.ts';
import type { Amendment } from '../sheet/amendment.ts';
import type { DerivedColumn } from './sheet-service.ts';
import type { KeptPage, KeptRecords, NotKept, NotKeptReason, SavedCohort, Study } from './store/kept.ts';

/**
 * Where changes go. `here`: kept by this tab. `elsewhere`: another tab keeps, this one may only look. `nowhere`: the
 * browser keeps nothing and changes last as long as the tab.
 */
export type KeepingPlace = 'opening' | 'here' | 'elsewhere' | 'nowhere';

/** Something that this tab holds and the store does not. */
export interface Unkept {
  /** In words: `2 changes to records`. */
  readonly what: string;
  readonly reason: NotKeptReason;
}

/**
 * The user's study as this tab holds it, and its keeping. A change that cannot be kept is made all the same, stands in
 * `unkept`, and goes with the study file; a change while another tab has the pen is refused (`NotKept`, `elsewhere`).
 */
export interface Keeping {
  readonly place: ReadonlySignal<KeepingPlace>;
  /** Why nothing is kept at all; null otherwise. */
  readonly nowhere: ReadonlySignal<NotKept | null>;
  readonly unkept: ReadonlySignal<readonly Unkept[]>;
  /** Another tab has written since this one read. */
  readonly outdated: ReadonlySignal<boolean>;
  readonly study: ReadonlySignal<Study>;
  readonly cohorts: ReadonlySignal<readonly SavedCohort[]>;
  readonly derived: ReadonlySignal<readonly DerivedColumn[]>;
  readonly pages: ReadonlySignal<readonly KeptPage[]>;
  /** Resolves when what is kept has been read, or cannot be. */
  readonly ready: Promise<void>;

  replaceRecords(records: KeptRecords, amendments: readonly Amendment[]): Promise<void>;
  /** Resolves when the disk has them, or when they stand in `unkept`. */
  append(amendments: readonly Amendment[]): Promise<void>;
  saveCohort(cohort: SavedCohort): Promise<void>;
  removeCohort(name: string): Promise<void>;
  replaceDerived(columns: readonly DerivedColumn[]): Promise<void>;
  savePage(page: KeptPage): Promise<void>;
  removePage(id: string): Promise<void>;
  rememberMapping(mapping: Mapping): Promise<void>;
  /** Plain JSON by name. Unlike the rest, a setting that cannot be kept is let go without a word. */
  setting<T>(name: string): T | undefined;
  saveSetting(name: string, value: unknown): Promise<void>;
  replaceAll(study: Study): Promise<void>;

  /** Tries once more to keep what is not. */
  retry(): Promise<void>;
  /** Makes this tab the one that keeps. */
  takeOver(): Promise<void>;
  /** Reads again what another tab has written. */
  refresh(): Promise<void>;
  erase(): Promise<void>;
}

export interface KeepingEvents {
  /** What another tab wrote was read in: the records on screen are no longer those kept. */
  readonly reread: () => void;
}
