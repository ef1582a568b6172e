import { type ReadonlySignal, signal } from '@preact/signals';
import type { DerivedColumn } from '../sheet/derived-column.ts';
import type { SavedCohort } from './store/kept.ts';

/** What the sheet and the cohort keep from one day to the next; the study's keeping does so for good. */
export interface SheetKept {
  readonly cohorts: ReadonlySignal<readonly SavedCohort[]>;
  readonly derived: ReadonlySignal<readonly DerivedColumn[]>;
  saveCohort(cohort: SavedCohort): Promise<void>;
  removeCohort(name: string): Promise<void>;
  replaceDerived(columns: readonly DerivedColumn[]): Promise<void>;
  setting<T>(name: string): T | undefined;
  saveSetting(name: string, value: unknown): Promise<void>;
}

/** Keeps as long as the tab lives: for tests. */
export function keptInTab(): SheetKept {
  const cohorts = signal<readonly SavedCohort[]>([]);
  const derived = signal<readonly DerivedColumn[]>([]);
  const settings = new Map<string, unknown>();
  return {
    cohorts,
    derived,
    async saveCohort(cohort) {
      cohorts.value = [...cohorts.value.filter(({ name }) => name !== cohort.name), cohort];
    },
    async removeCohort(name) {
      cohorts.value = cohorts.value.filter((one) => one.name !== name);
    },
    async replaceDerived(columns) {
      derived.value = columns;
    },
    setting: <T>(name: string) => settings.get(name) as T | undefined,
    async saveSetting(name, value) {
      settings.set(name, value);
    },
  };
}
