import { batch, computed, signal } from '@preact/signals';
import type { Behind } from '../analyses/analysis.ts';
import type { HerdCounts } from '../analyses/load-herd.ts';
import { instantNow, isoFromDay, localToday } from '../core/civil-day.ts';
import type { Amendment } from '../sheet/amendment.ts';
import type { AppState, Busy, Loaded, Sheet } from './app-state.ts';
import { askToStay } from './ask-to-stay.ts';
import { type Cohort, EVERYONE, isEveryone } from './cohort-choice.ts';
import { makeEditing, type SheetCalls } from './editing.ts';
import { freeName, uniqueName } from './file-names.ts';
import type { Health, HerdLink } from './herd-link.ts';
import type { AdmitResult } from './herd-service.ts';
import type { Keeping } from './keeping.ts';
import { lengthsSetting } from './lengths-setting.ts';
import { makeKeeping } from './make-keeping.ts';
import { blank, readRecords, type WorkOptions } from './open-records.ts';
import { PROGRAM_VERSION } from './program-version.ts';
import type { Caller, Stage } from './rpc.ts';
import { DEMO, type Sample } from './samples.ts';
import { saveFile } from './save-file.ts';
import type { Standing } from './sheet-service.ts';
import { type KeptFile, type KeptRecords, NotKept, type Study } from './store/kept.ts';
import { isStudyFile } from './study/study-name.ts';
import { startHerd } from './worker-client.ts';

export type { AdmitHow, AppState, Busy, Loaded, Sheet } from './app-state.ts';

export function makeState(
  herd: HerdLink,
  ready: Promise<unknown>,
  samples: Readonly<Record<string, Sample>>,
): AppState {
  const busy = signal<Busy | null>(null);
  const trouble = signal<string | null>(null);
  const loaded = signal<Loaded | null>(null);
  const cohort = signal<Cohort>(EVERYONE);
  const cohortCounts = signal<HerdCounts | null>(null);
  const cohortVersion = signal(0);
  const sheet = signal<Sheet>({ kind: 'none' });
  const opened = signal<Behind | null>(null);
  const hemisphere = signal<'north' | 'south'>('north');
  /** Files looked over and not yet admitted. */
  let chosen: ReadonlyMap<string, File> = new Map();
  let current: AbortController | null = null;
  /** More work follows: in between the screen must not look as if all were done. */
  let goesOn = false;
  /** Holds back what the engine tells while records are opened: it is put on screen as a whole. */
  let held: { told: Pick<Standing, 'counts' | 'asOf'> | null } | null = null;

  const health = signal<Health>('well');
  herd.onHealth((next) => {
    health.value = next;
  });
  /** The start of the worker that there is now. */
  let started = ready;

  const keeping = makeKeeping({ reread: () => void reread() });
  const editing = makeEditing({
    herd: herd as Caller<SheetCalls>,
    keep: async (made) => {
      if (!loaded.value?.isDemo) await keeping.append(made);
    },
    now: instantNow,
    locked: computed(() =>
      keeping.place.value === 'elsewhere' && loaded.value?.isDemo === false
        ? new NotKept('elsewhere').message
        : null,
    ),
    applied: (standing) => {
      if (held) held.told = standing;
      else if (loaded.value) standAmended(loaded.value, standing);
    },
  });

  /** Runs one piece of work at a time; a newer one takes the place of an older. */
  async function work<T>(
    stage: string,
    job: (options: { signal: AbortSignal; progress(s: Stage): void }) => Promise<T>,
  ) {
    current?.abort();
    const controller = new AbortController();
    current = controller;
    const cancel = (): void => controller.abort(new DOMException('cancelled', 'AbortError'));
    busy.value = { fraction: 0, stage, cancel };
    trouble.value = null;
    try {
      await started;
      return await job({
        signal: controller.signal,
        progress: (told) => {
          if (current === controller) busy.value = { ...told, cancel };
        },
      });
    } catch (error) {
      if (!controller.signal.aborted) trouble.value = error instanceof Error ? error.message : String(error);
      return null;
    } finally {
      if (current === controller) {
        if (!goesOn) busy.value = null;
        current = null;
      }
    }
  }

  /** After a load that failed: the whole of what was open, its amendments and columns in effect again. */
  async function readAnew(stood: Loaded): Promise<void> {
    const sentence = trouble.value;
    const derived = stood.isDemo ? [] : keeping.study.value.derived;
    await settle(stood, { amendments: editing.log.value, derived }, stood.isDemo);
    trouble.value ??= sentence;
  }

  async function inspect(files: readonly File[], options: WorkOptions) {
    const inputs = await Promise.all(
      files.map(async (file, k) => ({
        name: uniqueName(files, k),
        bytes: new Uint8Array(await file.arrayBuffer()),
      })),
    );
    const { inspections, refusals } = await herd.call(
      'inspect',
      { files: inputs, remembered: keeping.study.value.mappings },
      { ...options, transfer: inputs.map((input) => input.bytes.buffer) },
    );
    if (inspections.length === 0) throw new Error(refusals.join('\n'));
    chosen = new Map(files.map((file, k) => [uniqueName(files, k), file]));
    return { inspections, refusals };
  }

  function stand(result: AdmitResult & { readonly sample?: string }, isDemo: boolean): void {
    batch(() => {
      loaded.value = { ...result, isDemo };
      cohort.value = EVERYONE;
      cohortCounts.value = result.summary.counts;
      cohortVersion.value += 1;
      opened.value = null;
    });
  }

  async function change(job: (to: Keeping) => Promise<void>): Promise<boolean> {
    try {
      await job(keeping);
      return true;
    } catch (error) {
      trouble.value = error instanceof Error ? error.message : String(error);
      return false;
    }
  }

  function standAmended(stood: NonNullable<typeof loaded.value>, { counts, asOf }: Standing): void {
    const summary = isEveryone(cohort.value) ? { ...stood.summary, counts } : stood.summary;
    batch(() => {
      loaded.value = { ...stood, summary, asOf: asOf ?? stood.asOf };
      cohortCounts.value = counts;
      cohortVersion.value += 1;
    });
  }

  /** Puts the log and the derived columns of a study into effect over rows just read, then all of it on screen. */
  async function settle(
    result: AdmitResult & { readonly sample?: string },
    study: Pick<Study, 'amendments' | 'derived'>,
    isDemo: boolean,
  ) {
    const holding: NonNullable<typeof held> = { told: null };
    held = holding;
    try {
      if (study.amendments.length > 0) await editing.restore(study.amendments);
      else editing.forget();
      if (study.derived.length > 0) await herd.call('setDerivedColumns', study.derived);
    } catch (error) {
      trouble.value = error instanceof Error ? error.message : String(error);
    } finally {
      held = null;
    }
    const { counts = result.summary.counts, asOf = result.asOf } = holding.told ?? {};
    stand({ ...result, asOf, summary: { ...result.summary, counts } }, isDemo);
  }

  async function openOwn(study: Study, stage: string, keep: () => Promise<boolean>): Promise<boolean> {
    const { records } = study;
    if (!records) return false;
    const result = await work(stage, (options) => readRecords(herd, records, options));
    if (!result || !(await keep())) return false;
    hemisphere.value = records.hemisphere;
    await settle(result, study, false);
    return true;
  }

  async function openKept(): Promise<void> {
    await openOwn(keeping.study.value, 'Opening your records', async () => true);
  }

  const openDemo = (): Promise<void> => openSample(DEMO);

  async function openSample(name: string, amendments: readonly Amendment[] = []): Promise<void> {
    const sample = samples[name];
    if (!sample) throw new Error(`sample must be one of ${Object.keys(samples).join(', ')}: ${name}`);
    const stage = name === DEMO ? 'Opening the demo herd' : 'Opening the learning herd';
    // Asked for now: at the start the engine is still on its way.
    const asked = sample.files();
    asked.catch(() => undefined);
    const result = await work(stage, async (options) => {
      const { inspections } = await inspect(await asked, options);
      const files = inspections.map(({ file, mapping }) => ({ file, mapping }));
      return herd.call('admit', { files, add: false, hemisphere: 'north' }, options);
    });
    if (result)
      await settle({ ...result, sample: name }, { amendments, derived: keeping.derived.value }, true);
  }

  async function setCohort(next: Cohort): Promise<void> {
    const counts = await work('Narrowing the herd', async (options) => {
      const { cohortWhere } = await import('./cohort.ts');
      return herd.call('setCohort', cohortWhere(next), options);
    });
    if (!counts) return;
    batch(() => {
      cohort.value = next;
      cohortCounts.value = counts;
      cohortVersion.value += 1;
      opened.value = null;
    });
  }

  /** Also what is not kept: changes to a sample, files looked over and not yet read. */
  async function restartEngine(): Promise<void> {
    const stood = loaded.value;
    const { value: log } = editing.log;
    const { value: narrowed } = cohort;
    const { value: mapped } = sheet;
    const looked = mapped.kind === 'mapping' ? [...chosen.values()] : [];
    // Put away until the new worker has looked the files over: it could not read their rows before.
    if (looked.length > 0) sheet.value = { kind: 'none' };
    herd.renew();
    started = startHerd(herd, (told) => {
      if (busy.value) busy.value = { ...busy.value, ...told };
    });
    // Heard by what waits for it.
    started.catch(() => undefined);
    goesOn = looked.length > 0;
    if (stood ? !stood.isDemo : keeping.study.value.records) await openKept();
    else await openSample(stood?.sample ?? DEMO, stood ? log : []);
    goesOn = false;
    if (looked.length > 0 && (await work('Reading files', (options) => inspect(looked, options)))) {
      sheet.value = mapped;
    }
    if (!isEveryone(narrowed)) await setCohort(narrowed);
  }

  /** Another tab has changed the study that stands here. */
  async function reread(): Promise<void> {
    if (loaded.value?.isDemo) return;
    if (keeping.study.value.records) await openKept();
    else await openDemo();
  }

  async function openStudy(study: Study): Promise<void> {
    const keep = () => change(() => keeping.replaceAll(study));
    if (study.records) {
      if (!(await openOwn(study, 'Opening the study', keep))) return;
      void askToStay();
    } else if (!(await keep())) return;
    else await openDemo();
    sheet.value = { kind: 'none' };
  }

  async function openChosen(files: readonly File[]): Promise<void> {
    const [study] = files.filter((file) => isStudyFile(file.name));
    if (study) {
      const stage = `Opening ${study.name}`;
      const unpacked = await work(stage, async ({ signal, progress }) => {
        const { unpackStudy } = await import('./study/unpack-study.ts');
        return unpackStudy(study.name, study, {
          signal,
          progress: (fraction) => progress({ fraction, stage }),
        });
      });
      if (!unpacked) return;
      if (isNothing(keeping.study.value)) await openStudy(unpacked);
      else sheet.value = { kind: 'study', file: study.name, study: unpacked };
      return;
    }
    const read = await work('Reading files', (options) => inspect(files, options));
    if (!read) return;
    sheet.value = { kind: 'mapping', inspections: read.inspections };
    if (read.refusals.length > 0) trouble.value = read.refusals.join('\n');
  }

  return {
    busy,
    trouble,
    loaded,
    cohort,
    cohortCounts,
    cohortVersion,
    sheet,
    opened,
    hemisphere,
    lengths: lengthsSetting(keeping),
    herd,
    health,
    restartEngine,
    editing,
    keeping,
    async begin() {
      busy.value = { fraction: 0, stage: 'Looking for your records', cancel: null };
      await keeping.ready;
      if (keeping.study.value.records) await openKept();
      else await openDemo();
    },
    async openFiles(files) {
      if (files.length > 0) await openChosen(files);
    },
    changeMapping(file, mapping) {
      if (sheet.value.kind !== 'mapping') return;
      const inspections = sheet.value.inspections.map((one) =>
        one.file === file ? { ...one, mapping } : one,
      );
      sheet.value = { kind: 'mapping', inspections };
    },
    async admit(how) {
      if (sheet.value.kind !== 'mapping') return;
      if (keeping.place.value === 'elsewhere') {
        trouble.value = new NotKept('elsewhere').message;
        return;
      }
      const { records: before, amendments: log, derived } = keeping.study.value;
      const names = new Map<string, string>();
      const taken = new Set(how === 'together' ? before?.files.map((file) => file.name) : []);
      for (const { file } of sheet.value.inspections) names.set(file, freeName(file, taken));
      const inspections = sheet.value.inspections;
      const fresh: KeptFile[] = inspections.map(({ file, mapping }) => ({
        name: names.get(file) as string,
        bytes: chosen.get(file) as File,
        mapping,
      }));
      const kept = how === 'in-place' ? [] : log;
      const read = await work('Checking rows', (options) =>
        herd.call(
          'admit',
          {
            files: inspections.map(({ file, mapping }) => ({ file, mapping, as: names.get(file) as string })),
            add: how === 'together',
            hemisphere: hemisphere.value,
          },
          options,
        ),
      );
      if (!read) {
        // The worker stands again on what was open; the view of it starts anew.
        if (loaded.value) await readAnew(loaded.value);
        return;
      }
      const records: KeptRecords = {
        files: how === 'together' && before ? [...before.files, ...fresh] : fresh,
        hemisphere: hemisphere.value,
      };
      await change(() => keeping.replaceRecords(records, kept));
      for (const { mapping } of fresh) await change(() => keeping.rememberMapping(mapping));
      void askToStay();
      const { lengthsAsInFiles } = await import('./lengths-as-in-files.ts');
      await lengthsAsInFiles(
        keeping,
        inspections.map(({ mapping }) => mapping),
      );
      await settle(read, { amendments: kept, derived }, false);
      const unfit = editing.conflicts.value.length;
      if (unfit > 0) trouble.value = unfitWords(unfit);
      sheet.value = { kind: 'records' };
    },
    openDemo,
    openSample,
    sampleTitle: () => (loaded.value?.isDemo ? (samples[loaded.value.sample ?? DEMO]?.title ?? null) : null),
    openKept,
    async startBlank() {
      if (keeping.study.value.records) {
        trouble.value =
          'Your records are kept here already. Save them as a study file and erase them first, or go on with them.';
        return;
      }
      const result = await work('Laying out a blank record', (options) =>
        blank(herd, hemisphere.value, options),
      );
      if (!result) return;
      if (!(await change(() => keeping.replaceRecords({ files: [], hemisphere: hemisphere.value }, []))))
        return;
      void askToStay();
      await settle(result, { amendments: [], derived: keeping.derived.value }, false);
    },
    setCohort,
    async setDerived(columns) {
      return change(async () => {
        const counts = await herd.call('setDerivedColumns', columns);
        await keeping.replaceDerived(columns);
        batch(() => {
          cohortCounts.value = counts;
          cohortVersion.value += 1;
        });
      });
    },
    change,
    async saveStudy() {
      const stage = 'Writing the study file';
      const packed = await work(stage, async ({ signal, progress }) => {
        const { packStudy } = await import('./study/pack-study.ts');
        return packStudy(keeping.study.value, {
          now: instantNow(),
          program: PROGRAM_VERSION,
          signal,
          progress: (fraction) => progress({ fraction, stage }),
        });
      });
      if (packed) saveFile(`study-${isoFromDay(localToday())}.growout`, packed, packed.type);
    },
    openStudy,
    async eraseAll() {
      if (!(await change(() => keeping.erase()))) return;
      hemisphere.value = 'north';
      sheet.value = { kind: 'none' };
      await openDemo();
    },
  };
}

function unfitWords(n: number): string {
  const changes = n === 1 ? '1 of your changes does' : `${n} of your changes do`;
  return `${changes} not fit these rows and had to be left out: see Changes in the records.`;
}

/** Nothing is kept that a study file would take the place of. */
function isNothing({ records, cohorts, derived, pages }: Study): boolean {
  return records === null && cohorts.length + derived.length + pages.length === 0;
}
