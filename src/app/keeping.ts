import type { ReadonlySignal } from '@preact/signals';
import type { Mapping } from '../intake/mapping.ts';
import type { DerivedColumn } from '../sheet/derived-column.ts';
import type { KeptPage, NotKept, NotKeptReason, SavedCohort, Study } from './store/kept.ts';
import type { StudyChanges } from './store/study-changes.ts';

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
 * `unkept`, and goes with the study file: its promise resolves when the disk has it, or when it is held; a change while another tab has the pen is refused (`NotKept`, `elsewhere`).
 */
export interface Keeping extends StudyChanges {
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

  rememberMapping(mapping: Mapping): Promise<void>;
  /** Unlike the rest, a setting that cannot be kept is let go without a word. */
  setting<T>(name: string): T | undefined;

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
