import type { ReadonlySignal, Signal } from '@preact/signals';
import type { Behind } from '../analyses/analysis.ts';
import type { ShownLength } from '../analyses/lengths.ts';
import type { HerdCounts } from '../analyses/load-herd.ts';
import type { Mapping } from '../intake/mapping.ts';
import type { DerivedColumn } from '../sheet/derived-column.ts';
import type { Cohort } from './cohort-choice.ts';
import type { Editing } from './editing.ts';
import type { Health } from './herd-link.ts';
import type { AdmitResult, HerdMethods, Inspection } from './herd-service.ts';
import type { Keeping } from './keeping.ts';
import type { Caller, Stage } from './rpc.ts';
import type { Study } from './store/kept.ts';

/** A piece of work under way, with a way to stop it. */
export interface Busy extends Stage {
  readonly cancel: (() => void) | null;
}

/** What stands before the page: nothing, files to look over, or the books of what was read. */
export type Sheet =
  | { readonly kind: 'none' }
  | { readonly kind: 'mapping'; readonly inspections: readonly Inspection[] }
  | { readonly kind: 'records' }
  /** A study file that would take the place of what is kept: asked about. */
  | { readonly kind: 'study'; readonly file: string; readonly study: Study }
  /** Where the user's work lies. */
  | { readonly kind: 'keeping' };

/**
 * How newly read files stand to the records that are open. `newer`: a later export of the same, in which the amendments
 * are made again.
 */
export type AdmitHow = 'in-place' | 'together' | 'newer';

/** What is open. `isDemo`: a herd that comes with the program, `sample` its name; nothing of it is kept. */
export interface Loaded extends AdmitResult {
  readonly isDemo: boolean;
  readonly sample?: string;
}

/** Everything the shell shows and does; one instance, handed to the components. */
export interface AppState {
  readonly busy: Signal<Busy | null>;
  /** What went wrong last, in a sentence; what was loaded before stays. */
  readonly trouble: Signal<string | null>;
  readonly loaded: Signal<Loaded | null>;
  readonly cohort: Signal<Cohort>;
  readonly cohortCounts: Signal<HerdCounts | null>;
  /** Grows with every change of cohort or herd. */
  readonly cohortVersion: Signal<number>;
  readonly sheet: Signal<Sheet>;
  readonly opened: Signal<Behind | null>;
  readonly hemisphere: Signal<'north' | 'south'>;
  /** The unit in which lengths are read on pages. */
  readonly lengths: ReadonlySignal<ShownLength>;
  readonly herd: Caller<HerdMethods>;
  /** Whether what computes still does. */
  readonly health: ReadonlySignal<Health>;
  /** Starts the worker and the engine anew, and puts into them what was open. */
  restartEngine(): Promise<void>;
  /** Amendments: the only way to change a row. Those of the demo herd last as long as the tab. */
  readonly editing: Editing;
  readonly keeping: Keeping;
  /** Opens what is kept, else the demo herd. */
  begin(): Promise<void>;
  openFiles(files: readonly File[]): Promise<void>;
  changeMapping(file: string, mapping: Mapping): void;
  admit(how: AdmitHow): Promise<void>;
  openDemo(): Promise<void>;
  /** Opens a herd that comes with the program, beside what is kept. Throws on a name that none has. */
  openSample(name: string): Promise<void>;
  /** The title of the sample that is open; null where records of one's own are. */
  sampleTitle(): string | null;
  openKept(): Promise<void>;
  /** A record without rows, to write the first visit in. */
  startBlank(): Promise<void>;
  setCohort(cohort: Cohort): Promise<void>;
  /** Derived columns, checked before: in effect, then kept. */
  setDerived(columns: readonly DerivedColumn[]): Promise<boolean>;
  /** A change to what is kept (a cohort, a page); false, with the reason in `trouble`, where it was refused. */
  change(job: (keeping: Keeping) => Promise<void>): Promise<boolean>;
  saveStudy(): Promise<void>;
  /** Takes a study in place of what is kept. */
  openStudy(study: Study): Promise<void>;
  eraseAll(): Promise<void>;
}
