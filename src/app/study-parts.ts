import type { Signal } from '@preact/signals';
import { type Mapping, rememberMapping } from '../intake/mapping.ts';
import type { DerivedColumn } from '../sheet/derived-column.ts';
import type { KeptPage, SavedCohort, Study } from './store/kept.ts';
import type { StudyStore } from './store/study-store.ts';

/** A change and how it is kept. `before` and `after` make it in this tab, before or after the disk has it. */
export interface Part {
  /** Two changes of one key: the later one stands for both. */
  readonly key: string;
  readonly what: () => string;
  readonly before?: () => void;
  readonly write: (store: StudyStore) => Promise<void>;
  readonly after?: () => void;
}

/** The changes of a study that stand by themselves: all but those of the records and their amendments. */
export function studyParts(study: Signal<Study>) {
  const change = (part: Partial<Study>): void => {
    study.value = { ...study.value, ...part };
  };
  return {
    saveCohort: (cohort: SavedCohort): Part => ({
      key: `cohort ${cohort.name}`,
      what: () => `the cohort “${cohort.name}”`,
      before: () => change({ cohorts: [...without(study.value.cohorts, 'name', cohort.name), cohort] }),
      write: (to) => to.saveCohort(cohort),
    }),
    removeCohort: (name: string): Part => ({
      key: `cohort ${name}`,
      what: () => `that the cohort “${name}” is gone`,
      before: () => change({ cohorts: without(study.value.cohorts, 'name', name) }),
      write: (to) => to.removeCohort(name),
    }),
    replaceDerived: (derived: readonly DerivedColumn[]): Part => ({
      key: 'derived',
      what: () => 'derived columns',
      before: () => change({ derived }),
      write: (to) => to.replaceDerived(derived),
    }),
    savePage: (page: KeptPage): Part => ({
      key: `page ${page.id}`,
      what: () => `the page “${page.id}”`,
      before: () => {
        const { pages } = study.value;
        const known = pages.some((one) => one.id === page.id);
        change({ pages: known ? pages.map((one) => (one.id === page.id ? page : one)) : [...pages, page] });
      },
      write: (to) => to.savePage(page),
    }),
    removePage: (id: string): Part => ({
      key: `page ${id}`,
      what: () => `that the page “${id}” is gone`,
      before: () => change({ pages: without(study.value.pages, 'id', id) }),
      write: (to) => to.removePage(id),
    }),
    rememberMapping: (mapping: Mapping): Part => {
      const kept = rememberMapping(mapping);
      return {
        key: `mapping ${kept.signature}`,
        what: () => 'how your columns are read',
        before: () =>
          change({ mappings: [...without(study.value.mappings, 'signature', kept.signature), kept] }),
        write: (to) => to.saveMapping(kept),
      };
    },
  };
}

function without<T, K extends keyof T>(list: readonly T[], key: K, value: T[K]): T[] {
  return list.filter((one) => one[key] !== value);
}
