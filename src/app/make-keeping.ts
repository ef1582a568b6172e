import { computed, signal } from '@preact/signals';
import type { Amendment } from '../sheet/amendment.ts';
import type { Keeping, KeepingEvents, KeepingPlace, Unkept } from './keeping.ts';
import { openDatabase } from './store/database.ts';
import { eraseEverything } from './store/erase.ts';
import { EMPTY_STUDY, type KeptRecords, NotKept, type NotKeptReason, type Study } from './store/kept.ts';
import { askForPen, type News, type Pen } from './store/pen.ts';
import { type StudyStore, studyStore } from './store/study-store.ts';
import { type Part, studyParts } from './study-parts.ts';

type Held = Unkept & Pick<Part, 'write'>;

export function makeKeeping(events: KeepingEvents): Keeping {
  const place = signal<KeepingPlace>('opening');
  const nowhere = signal<NotKept | null>(null);
  const held = signal<ReadonlyMap<string, Held>>(new Map());
  const study = signal<Study>(EMPTY_STUDY);
  const outdated = signal(false);
  let store: StudyStore | null = null;
  let pen: Pen | null = null;
  let penIsOurs = false;
  let revision = -1;
  let pending: readonly Amendment[] = [];

  const change = (part: Partial<Study>): void => {
    study.value = { ...study.value, ...part };
  };
  const give = (why: NotKept): void => {
    store?.close();
    store = null;
    nowhere.value = why;
    place.value = 'nowhere';
  };

  async function openStore(): Promise<StudyStore> {
    return studyStore(await openDatabase({ closed: (why) => give(new NotKept(why)) }), tabName());
  }

  async function open(): Promise<void> {
    try {
      store = await openStore();
      await read();
    } catch (error) {
      give(error instanceof NotKept ? error : new NotKept('failed', String(error)));
      return;
    }
    await new Promise<void>((resolve) => {
      pen = askForPen({
        given: () => void given().finally(resolve),
        elsewhere: () => {
          if (place.value !== 'nowhere') place.value = 'elsewhere';
          resolve();
        },
        // What another tab told can be asked for again.
        heard: (news) => void heard(news).catch(() => undefined),
      });
    });
  }

  async function read(): Promise<void> {
    if (!store) return;
    // Before the study, so that a change between the two reads as one still to come.
    revision = await store.revision();
    study.value = await store.read();
    outdated.value = false;
  }

  async function given(): Promise<void> {
    if (!store) return;
    try {
      await takePen(store);
      // Another tab may have written while this one waited for its turn.
      const reread = (await store.revision()) !== revision;
      if (reread) await read();
      place.value = 'here';
      if (reread) events.reread();
    } catch (error) {
      give(error instanceof NotKept ? error : new NotKept('failed', String(error)));
    }
  }

  /** On a full disk not even that can be written down: it is tried again with the next change. */
  async function takePen(to: StudyStore): Promise<void> {
    penIsOurs = false;
    try {
      await to.takePen();
      penIsOurs = true;
    } catch (error) {
      if (!(error instanceof NotKept && error.reason === 'full')) throw error;
    }
  }

  async function heard(news: News): Promise<void> {
    if (news === 'erased') outdated.value = true;
    else if (store && place.value === 'elsewhere') outdated.value = (await store.revision()) !== revision;
  }

  /** One change at a time, in the order asked for. */
  let line: Promise<unknown> = Promise.resolve();
  function keep(part: Part): Promise<void> {
    const done = line.then(() => keepNow(part));
    line = done.catch(() => undefined);
    return done;
  }

  /** Makes a change here and keeps it; what cannot be kept is held, with the way to try again. */
  async function keepNow({ key, what, before, write, after }: Part): Promise<void> {
    if (place.value === 'elsewhere') throw new NotKept('elsewhere');
    before?.();
    const hold = (reason: NotKeptReason): void => {
      held.value = new Map(held.value).set(key, { what: what(), reason, write });
    };
    const reason = await tryToKeep(key, write);
    if (reason === null) letGo(key);
    else hold(reason);
    after?.();
  }

  /** Null when the disk has it. */
  async function tryToKeep(key: string, write: Part['write']): Promise<NotKeptReason | null> {
    if (!store) return nowhere.value?.reason ?? 'no-storage';
    const records = held.value.get('records');
    // A log without the records it belongs to must not be kept.
    if (key === 'amendments' && records) return records.reason;
    try {
      if (!penIsOurs) await store.takePen();
      penIsOurs = true;
      await write(store);
    } catch (error) {
      const { reason } = error instanceof NotKept ? error : new NotKept('failed');
      if (reason !== 'elsewhere') return reason;
      place.value = 'elsewhere';
      throw error;
    }
    revision += 1;
    pen?.tell('changed');
    return null;
  }

  function letGo(key: string): void {
    if (!held.value.has(key)) return;
    const left = new Map(held.value);
    left.delete(key);
    held.value = left;
  }

  async function eraseNow(): Promise<void> {
    if (place.value === 'elsewhere') throw new NotKept('elsewhere');
    store?.close();
    pen?.tell('erased');
    try {
      await eraseEverything();
      pending = [];
      held.value = new Map();
      study.value = EMPTY_STUDY;
      outdated.value = false;
      if (nowhere.value) return;
      store = await openStore();
      await takePen(store);
      revision = await store.revision();
    } catch (error) {
      give(error instanceof NotKept ? error : new NotKept('failed', String(error)));
      throw error;
    }
  }

  const parts = studyParts(study);
  const ready = open();
  return {
    place,
    nowhere,
    unkept: computed(() => [...held.value.values()].map(({ what, reason }) => ({ what, reason }))),
    outdated,
    study,
    cohorts: computed(() => study.value.cohorts),
    derived: computed(() => study.value.derived),
    pages: computed(() => study.value.pages),
    ready,

    replaceRecords: (records, amendments) =>
      keep({
        key: 'records',
        what: () => recordsWords(records),
        before: () => change({ records, amendments }),
        write: async (to) => {
          const { records: now, amendments: log } = study.value;
          if (now) await to.replaceRecords(now, log);
          pending = [];
        },
        // With the records, the log was kept whole or is held whole.
        after: () => letGo('amendments'),
      }),
    async append(amendments) {
      if (amendments.length === 0) return;
      const before = (): void => {
        pending = [...pending, ...amendments];
      };
      await keep({
        key: 'amendments',
        what: () => changeWords(pending.length),
        before,
        write: async (to) => {
          await to.append(pending);
          pending = [];
        },
        after: () => change({ amendments: [...study.value.amendments, ...amendments] }),
      }).catch((error: unknown) => {
        pending = pending.filter((one) => !amendments.includes(one));
        throw error;
      });
    },
    saveCohort: (cohort) => keep(parts.saveCohort(cohort)),
    removeCohort: (name) => keep(parts.removeCohort(name)),
    replaceDerived: (derived) => keep(parts.replaceDerived(derived)),
    savePage: (page) => keep(parts.savePage(page)),
    removePage: (id) => keep(parts.removePage(id)),
    rememberMapping: (mapping) => keep(parts.rememberMapping(mapping)),
    setting: <T>(name: string) => study.value.settings[name] as T | undefined,
    async saveSetting(name, value) {
      change({ settings: { ...study.value.settings, [name]: value } });
      if (place.value !== 'here') return;
      // A layout is not work: where it cannot be kept, nobody is troubled.
      const done = line.then(() => tryToKeep('setting', (to) => to.saveSetting(name, value)));
      line = done.catch(() => undefined);
      await line;
    },
    replaceAll: (next) =>
      keep({
        key: 'records',
        what: () => 'the study',
        before: () => {
          pending = [];
          held.value = new Map();
          study.value = next;
        },
        write: async (to) => {
          await to.replaceAll(study.value);
          pending = [];
        },
      }),

    async retry() {
      for (const [key, { what, write }] of held.value) await keep({ key, what: () => what, write });
    },
    async takeOver() {
      await pen?.takeOver();
    },
    async refresh() {
      await read();
      events.reread();
    },
    erase() {
      // After what is still to be kept: written later, it would be back.
      const done = line.then(eraseNow);
      line = done.catch(() => undefined);
      return done;
    },
  };
}

/** Differs from every other tab's. */
function tabName(): string {
  return crypto.getRandomValues(new Uint32Array(4)).join('-');
}

function changeWords(n: number): string {
  return n === 1 ? '1 change to records' : `${n} changes to records`;
}

function recordsWords({ files }: KeptRecords): string {
  return files.length === 0 ? 'your blank record' : files.map((file) => file.name).join(', ');
}
