import { batch, computed, type Signal, signal } from '@preact/signals';
import type { Behind } from '../analyses/analysis.ts';
import type { HerdCounts } from '../analyses/load-herd.ts';
import { instantNow } from '../core/civil-day.ts';
import type { Mapping } from '../intake/mapping.ts';
import { type Cohort, cohortWhere, EVERYONE } from './cohort.ts';
import { type Editing, type KeepAmendments, makeEditing, type SheetCalls } from './editing.ts';
import type { AdmitResult, HerdMethods, Inspection } from './herd-service.ts';
import { keepMapping, rememberedMappings } from './remembered-mappings.ts';
import type { Caller, Stage } from './rpc.ts';

/** A piece of work under way, with a way to stop it. */
export interface Busy extends Stage {
  readonly cancel: (() => void) | null;
}

/** What stands before the page: nothing, files to look over, or the books of what was read. */
export type Sheet =
  | { readonly kind: 'none' }
  | { readonly kind: 'mapping'; readonly inspections: readonly Inspection[] }
  | { readonly kind: 'records' };

/** Everything the shell shows and does; one instance, handed to the components. */
export interface AppState {
  readonly busy: Signal<Busy | null>;
  /** What went wrong last, in a sentence; what was loaded before stays. */
  readonly trouble: Signal<string | null>;
  readonly loaded: Signal<(AdmitResult & { readonly isDemo: boolean }) | null>;
  readonly cohort: Signal<Cohort>;
  readonly cohortCounts: Signal<HerdCounts | null>;
  /** Grows with every change of cohort or herd. */
  readonly cohortVersion: Signal<number>;
  readonly sheet: Signal<Sheet>;
  readonly opened: Signal<Behind | null>;
  readonly hemisphere: Signal<'north' | 'south'>;
  readonly herd: Caller<HerdMethods>;
  /** Amendments: the only way to change a row. */
  readonly editing: Editing;
  openFiles(files: readonly File[]): Promise<void>;
  changeMapping(file: string, mapping: Mapping): void;
  admit(add: boolean): Promise<void>;
  openDemo(): Promise<void>;
  setCohort(cohort: Cohort): Promise<void>;
}

export type DemoFiles = () => Promise<readonly File[]>;

export function makeState(
  herd: Caller<HerdMethods>,
  ready: Promise<unknown>,
  demoFiles: DemoFiles,
  keep: KeepAmendments = async () => undefined,
): AppState {
  const busy = signal<Busy | null>(null);
  const trouble = signal<string | null>(null);
  const loaded = signal<(AdmitResult & { isDemo: boolean }) | null>(null);
  const cohort = signal<Cohort>(EVERYONE);
  const cohortCounts = signal<HerdCounts | null>(null);
  const cohortVersion = signal(0);
  const sheet = signal<Sheet>({ kind: 'none' });
  const opened = signal<Behind | null>(null);
  const hemisphere = signal<'north' | 'south'>('north');
  let current: AbortController | null = null;
  const editing = makeEditing({
    herd: herd as unknown as Caller<SheetCalls>,
    keep,
    now: instantNow,
    applied: ({ counts }) =>
      batch(() => {
        cohortCounts.value = counts;
        cohortVersion.value += 1;
      }),
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
      await ready;
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
        busy.value = null;
        current = null;
      }
    }
  }

  async function inspect(files: readonly File[], options: { signal: AbortSignal; progress(s: Stage): void }) {
    const inputs = await Promise.all(
      files.map(async (file, k) => ({
        name: uniqueName(files, k),
        bytes: new Uint8Array(await file.arrayBuffer()),
      })),
    );
    return herd.call(
      'inspect',
      { files: inputs, remembered: await rememberedMappings() },
      { ...options, transfer: inputs.map((input) => input.bytes.buffer) },
    );
  }

  function stand(result: AdmitResult, isDemo: boolean): void {
    batch(() => {
      loaded.value = { ...result, isDemo };
      cohort.value = EVERYONE;
      cohortCounts.value = result.summary.counts;
      cohortVersion.value += 1;
      opened.value = null;
    });
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
    herd,
    editing,
    async openFiles(files) {
      if (files.length === 0) return;
      const inspections = await work('Reading files', (options) => inspect(files, options));
      if (inspections) sheet.value = { kind: 'mapping', inspections };
    },
    changeMapping(file, mapping) {
      if (sheet.value.kind !== 'mapping') return;
      const inspections = sheet.value.inspections.map((one) =>
        one.file === file ? { ...one, mapping } : one,
      );
      sheet.value = { kind: 'mapping', inspections };
    },
    async admit(add) {
      if (sheet.value.kind !== 'mapping') return;
      const files = sheet.value.inspections.map(({ file, mapping }) => ({ file, mapping }));
      const result = await work('Checking rows', (options) =>
        herd.call('admit', { files, add, hemisphere: hemisphere.value }, options),
      );
      if (!result) return;
      for (const { mapping } of files) await keepMapping(mapping);
      const wasDemo = loaded.value?.isDemo ?? true;
      stand(result, false);
      if (wasDemo) editing.forget();
      // A newer export of the same records: what was amended is put into effect over it, conflicts are shown.
      else if (editing.log.value.length > 0) await editing.restore(editing.log.value);
      sheet.value = { kind: 'records' };
    },
    async openDemo() {
      const result = await work('Opening the demo herd', async (options) => {
        const inspections = await inspect(await demoFiles(), options);
        const files = inspections.map(({ file, mapping }) => ({ file, mapping }));
        return herd.call('admit', { files, add: false, hemisphere: 'north' }, options);
      });
      if (!result) return;
      stand(result, true);
      editing.forget();
    },
    async setCohort(next) {
      const counts = await work('Narrowing the herd', (options) =>
        herd.call('setCohort', cohortWhere(next), options),
      );
      if (!counts) return;
      batch(() => {
        cohort.value = next;
        cohortCounts.value = counts;
        cohortVersion.value += 1;
        opened.value = null;
      });
    },
  };
}

/** The share of the herd in view, for the cohort bar. */
export function cohortShare(state: AppState) {
  return computed(() => {
    const whole = state.loaded.value?.summary.counts;
    const seen = state.cohortCounts.value;
    return whole && seen ? { whole, seen } : null;
  });
}

/** Two files of one name, from two folders, stay apart. */
function uniqueName(files: readonly File[], k: number): string {
  const name = files[k]?.name ?? '';
  const earlier = files.slice(0, k).filter((file) => file.name === name).length;
  return earlier === 0 ? name : `${name} (${earlier + 1})`;
}
