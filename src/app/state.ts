import { computed, signal } from '@preact/signals';
import { instantNow, isoFromDay, localToday } from '../core/civil-day.ts';
import { makeAdmitting } from './admitting.ts';
import type { AppState, Busy, Sheet } from './app-state.ts';
import { type Cohort, isEveryone } from './cohort-choice.ts';
import { makeEditing, type SheetCalls } from './editing.ts';
import type { Health, HerdLink } from './herd-link.ts';
import { makeHerdOnScreen } from './herd-on-screen.ts';
import { lengthsSetting } from './lengths-setting.ts';
import { makeLookedOver } from './looked-over.ts';
import { makeKeeping } from './make-keeping.ts';
import { makeOneWork } from './one-work.ts';
import { makeOpening, type OpeningParts } from './opening.ts';
import { PROGRAM_VERSION } from './program-version.ts';
import type { Caller } from './rpc.ts';
import { DEMO, type Sample } from './samples.ts';
import { saveFile } from './save-file.ts';
import { NotKept } from './store/kept.ts';
import { startHerd } from './worker-client.ts';

/** Once the cohort is set: what a page asks of it goes first. */
const COUNTED_AFTER_MS = 300;

export function makeState(
  herd: HerdLink,
  ready: Promise<unknown>,
  samples: Readonly<Record<string, Sample>>,
): AppState {
  const busy = signal<Busy | null>(null);
  const trouble = signal<string | null>(null);
  const sheet = signal<Sheet>({ kind: 'none' });
  const hemisphere = signal<'north' | 'south'>('north');
  const health = signal<Health>('well');
  herd.onHealth((next) => {
    health.value = next;
  });
  let started = ready;
  const work = makeOneWork(busy, trouble, () => started);

  const screen = makeHerdOnScreen();
  const { loaded, cohort } = screen;
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
    applied: screen.amended,
  });

  const change: AppState['change'] = async (job) => {
    try {
      await job(keeping);
      return true;
    } catch (error) {
      trouble.value = error instanceof Error ? error.message : String(error);
      return false;
    }
  };

  const lookedOver = makeLookedOver(herd, keeping);
  const parts: OpeningParts = {
    herd,
    screen,
    editing,
    keeping,
    lookedOver,
    work,
    change,
    trouble,
    sheet,
    hemisphere,
    samples,
  };
  const opening = makeOpening(parts);

  async function setCohort(next: Cohort): Promise<void> {
    await work.run('Narrowing the herd', async (options) => {
      const { cohortWhere } = await import('./cohort.ts');
      await herd.call('setCohort', cohortWhere(next), options);
      screen.narrowed(next);
    });
    const { value: version } = screen.cohortVersion;
    await new Promise((resolve) => setTimeout(resolve, COUNTED_AFTER_MS));
    const stands = (): boolean =>
      screen.cohortVersion.value === version && screen.cohortCounts.value === null;
    if (!stands()) return;
    try {
      const counts = await herd.call('countCohort', null);
      if (stands()) screen.countsCame(counts);
    } catch (error) {
      if (stands()) trouble.value = error instanceof Error ? error.message : String(error);
    }
  }

  function renewHerd(): void {
    herd.renew();
    started = startHerd(herd, (told) => {
      if (busy.value) busy.value = { ...busy.value, ...told };
    });
    // Heard by what waits for it.
    started.catch(() => undefined);
  }

  /** Also what is not kept: changes to a sample, files looked over and not yet read. */
  async function restartEngine(): Promise<void> {
    const stood = loaded.value;
    const { value: log } = editing.log;
    const { value: narrowed } = cohort;
    const { value: mapped } = sheet;
    const looked = mapped.kind === 'mapping' ? lookedOver.all() : [];
    // Put away until the new worker has looked the files over: it could not read their rows before.
    if (looked.length > 0) sheet.value = { kind: 'none' };
    renewHerd();
    work.goesOn = looked.length > 0;
    let isOpen = false;
    try {
      isOpen = await ((stood ? !stood.isDemo : keeping.study.value.records)
        ? opening.kept()
        : opening.sample(stood?.sample ?? DEMO, stood ? log : []));
    } finally {
      work.goesOn = false;
    }
    if (!isOpen) {
      // Why is said already; what was being looked over waits for the next try.
      if (!work.isUnderWay()) busy.value = null;
      if (looked.length > 0) sheet.value = mapped;
      return;
    }
    if (
      looked.length > 0 &&
      (await work.run('Reading files', (options) => lookedOver.look(looked, options)))
    ) {
      sheet.value = mapped;
    }
    if (!isEveryone(narrowed)) await setCohort(narrowed);
  }

  /** Another tab has changed the study that stands here. */
  async function reread(): Promise<void> {
    if (!loaded.value?.isDemo) await opening.keptOrDemo();
  }

  return {
    busy,
    trouble,
    loaded,
    cohort,
    cohortCounts: screen.cohortCounts,
    cohortVersion: screen.cohortVersion,
    sheet,
    opened: screen.opened,
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
      await opening.keptOrDemo();
    },
    ...makeAdmitting(parts, opening),
    async openDemo() {
      await opening.sample(DEMO);
    },
    async openSample(name) {
      await opening.sample(name);
    },
    sampleTitle: () => (loaded.value?.isDemo ? (samples[loaded.value.sample ?? DEMO]?.title ?? null) : null),
    async openKept() {
      await opening.kept();
    },
    startBlank: opening.blank,
    setCohort,
    setDerived: (columns) =>
      change(async () => {
        const counts = await herd.call('setDerivedColumns', columns);
        await keeping.replaceDerived(columns);
        screen.counted(counts);
      }),
    change,
    async saveStudy() {
      const stage = 'Writing the study file';
      const packed = await work.run(stage, async ({ signal, progress }) => {
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
    openStudy: opening.study,
    async eraseAll() {
      if (!(await change(() => keeping.erase()))) return;
      hemisphere.value = 'north';
      sheet.value = { kind: 'none' };
      loaded.value = null;
      editing.forget();
      // Else what was erased would stay on the screen, and be called kept.
      if (health.value !== 'well') renewHerd();
      await opening.sample(DEMO);
    },
  };
}
