import type { Mapping, RememberedMapping } from '../../intake/mapping.ts';
import type { Amendment } from '../../sheet/amendment.ts';
import type { DerivedColumn } from '../../sheet/derived-column.ts';
import type { Cohort } from '../cohort-choice.ts';

/** A source file as the user chose it, with the mapping it was read by. */
export interface KeptFile {
  readonly name: string;
  readonly bytes: Blob;
  readonly mapping: Mapping;
}

/** The user's own records: files, or a blank sheet (`files` empty) to which rows are only added. */
export interface KeptRecords {
  readonly files: readonly KeptFile[];
  readonly hemisphere: 'north' | 'south';
}

export interface SavedCohort {
  readonly name: string;
  readonly cohort: Cohort;
}

/** A page the user wrote or duplicated, as text. */
export interface KeptPage {
  readonly id: string;
  readonly text: string;
}

/** Small things by name: the layout of a sheet, the choices of a page. Plain JSON. */
type Settings = Readonly<Record<string, unknown>>;

/** All that is the user's: what is kept here, and what goes into a study file. */
export interface Study {
  /** Null before any records of the user's own are open. */
  readonly records: KeptRecords | null;
  /** In order of writing. */
  readonly amendments: readonly Amendment[];
  readonly cohorts: readonly SavedCohort[];
  readonly derived: readonly DerivedColumn[];
  readonly pages: readonly KeptPage[];
  readonly mappings: readonly RememberedMapping[];
  readonly settings: Settings;
}

export const EMPTY_STUDY: Study = {
  records: null,
  amendments: [],
  cohorts: [],
  derived: [],
  pages: [],
  mappings: [],
  settings: {},
};

export type NotKeptReason =
  | 'full'
  | 'no-storage'
  | 'newer-program'
  | 'elsewhere'
  | 'erased-or-upgraded'
  | 'lost'
  | 'failed';

/** Why something could not be kept. `message` is for people. */
export class NotKept extends Error {
  override readonly name = 'NotKept';
  readonly reason: NotKeptReason;

  constructor(reason: NotKeptReason, detail = '') {
    super(`${SENTENCES[reason]}${detail && ` (${detail})`}`);
    this.reason = reason;
  }
}

const SENTENCES: Readonly<Record<NotKeptReason, string>> = {
  full: 'This machine gives Growout no more room to keep your work.',
  'no-storage': 'This browser window keeps nothing, as private windows do.',
  'newer-program':
    'What is kept here was written by a newer Growout, which this one cannot read. It stays as it is; open it with the newer one.',
  elsewhere: 'Your records are being changed in another tab, so nothing can be kept from this one.',
  'erased-or-upgraded':
    'What was kept here has been erased, or taken over by a newer Growout, in another tab. Load this page again.',
  lost: 'The browser has closed what it kept. Load this page again.',
  failed: 'The browser could not keep your work.',
};
