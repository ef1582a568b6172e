import type { Signal } from '@preact/signals';
import type { Amendment } from '../sheet/amendment.ts';
import type { AppState, Loaded, Sheet } from './app-state.ts';
import { askToStay } from './ask-to-stay.ts';
import { type Cohort, EVERYONE, isEveryone } from './cohort-choice.ts';
import type { Editing } from './editing.ts';
import type { HerdOnScreen, Read } from './herd-on-screen.ts';
import type { HerdMethods } from './herd-service.ts';
import type { Keeping } from './keeping.ts';
import type { FilesLookedOver } from './looked-over.ts';
import type { OneWork } from './one-work.ts';
import { blank, readRecords } from './open-records.ts';
import type { Caller } from './rpc.ts';
import { DEMO, type Sample } from './samples.ts';
import { NotKept, type Study } from './store/kept.ts';

export interface OpeningParts {
  readonly herd: Caller<HerdMethods>;
  readonly screen: HerdOnScreen;
  readonly editing: Editing;
  readonly keeping: Keeping;
  readonly lookedOver: FilesLookedOver;
  readonly work: OneWork;
  readonly change: AppState['change'];
  readonly trouble: Signal<string | null>;
  readonly sheet: Signal<Sheet>;
  readonly hemisphere: Signal<'north' | 'south'>;
  readonly samples: Readonly<Record<string, Sample>>;
}

/** Every way in which a herd comes to stand on the screen, but that of newly chosen files. */
export interface Opening {
  /** Puts the log and the derived columns of a study into effect over rows just read, then all of it on screen. */
  settle(result: Read, study: Pick<Study, 'amendments' | 'derived'>, isDemo: boolean): Promise<void>;
  /** After a load that failed: the whole of what was open, its amendments and columns in effect again. */
  readAnew(stood: Loaded): Promise<void>;
  /** False where nothing was opened, as with the next two. */
  kept(): Promise<boolean>;
  /** What is kept, else the demo herd. */
  keptOrDemo(): Promise<boolean>;
  sample(name: string, amendments?: readonly Amendment[]): Promise<boolean>;
  study(study: Study): Promise<void>;
  blank(): Promise<void>;
  /** Says so, and is true, where another tab keeps: it is asked before rows are read that could not be kept. */
  isElsewhere(): boolean;
}

export function makeOpening(parts: OpeningParts): Opening {
  const { herd, screen, editing, keeping, lookedOver, work, change, trouble, sheet, hemisphere, samples } =
    parts;

  async function settle(
    result: Read,
    study: Pick<Study, 'amendments' | 'derived'>,
    isDemo: boolean,
  ): Promise<void> {
    const told = await screen.holdBack(async () => {
      try {
        if (study.amendments.length > 0) await editing.restore(study.amendments);
        else editing.forget();
        if (study.derived.length > 0) await herd.call('setDerivedColumns', study.derived);
      } catch (error) {
        trouble.value = error instanceof Error ? error.message : String(error);
      }
    });
    const { counts = result.summary.counts, asOf = result.asOf } = told ?? {};
    screen.stand({ ...result, asOf, summary: { ...result.summary, counts } }, isDemo);
  }

  /** Files that were looked over are no longer open once others have been read. */
  function putAway(): void {
    if (sheet.value.kind === 'mapping') sheet.value = { kind: 'none' };
  }

  function isElsewhere(): boolean {
    if (keeping.place.value !== 'elsewhere') return false;
    trouble.value = new NotKept('elsewhere').message;
    return true;
  }

  /** False where nothing was opened. `keep` comes between reading and showing. */
  async function own(study: Study, stage: string, keep: () => Promise<boolean>): Promise<boolean> {
    const { records } = study;
    if (!records) return false;
    const isOpen = await work.run(stage, async (options, unbroken) => {
      const result = await readRecords(herd, records, options);
      return unbroken(async () => {
        if (!(await keep())) return false;
        hemisphere.value = records.hemisphere;
        await settle(result, study, false);
        putAway();
        return true;
      });
    });
    return isOpen === true;
  }

  const kept = (): Promise<boolean> => own(keeping.study.value, 'Opening your records', async () => true);

  async function sample(name: string, amendments: readonly Amendment[] = []): Promise<boolean> {
    const found = samples[name];
    if (!found) throw new Error(`sample must be one of ${Object.keys(samples).join(', ')}: ${name}`);
    const stage = name === DEMO ? 'Opening the demo herd' : 'Opening the learning herd';
    // Asked for now: at the start the engine is still on its way.
    const asked = found.files();
    asked.catch(() => undefined);
    const isOpen = await work.run(stage, async (options, unbroken) => {
      const { inspections } = await lookedOver.look(await asked, options);
      const files = inspections.map(({ file, mapping }) => ({ file, mapping }));
      const result = await herd.call('admit', { files, add: false, hemisphere: 'north' }, options);
      return unbroken(async () => {
        await settle({ ...result, sample: name }, { amendments, derived: keeping.derived.value }, true);
        putAway();
        return true;
      });
    });
    return isOpen === true;
  }

  /** The cohort as the engine has it; the screen is told elsewhere. */
  async function narrow(to: Cohort): Promise<void> {
    const { cohortWhere } = await import('./cohort.ts');
    await herd.call('setCohort', cohortWhere(to));
  }

  return {
    settle,
    isElsewhere,
    readAnew: (stood) =>
      work.hold(async () => {
        const sentence = trouble.value;
        const narrowed = screen.cohort.value;
        try {
          // Rows may not have been loaded anew: then the engine still has the cohort.
          if (!isEveryone(narrowed)) await narrow(EVERYONE);
          const amendments = editing.log.value;
          await settle(stood, { amendments, derived: keeping.derived.value }, stood.isDemo);
          if (!isEveryone(narrowed)) {
            await narrow(narrowed);
            screen.narrowed(narrowed);
            screen.countsCame(await herd.call('countCohort', null));
          }
        } catch (error) {
          // So that an engine started anew is given it.
          screen.cohort.value = narrowed;
          trouble.value ??= error instanceof Error ? error.message : String(error);
        }
        trouble.value = sentence ?? trouble.value;
      }),
    kept,
    keptOrDemo: () => (keeping.study.value.records ? kept() : sample(DEMO)),
    sample,
    async study(study) {
      if (isElsewhere()) return;
      const keep = () => change(() => keeping.replaceAll(study));
      if (study.records) {
        if (!(await own(study, 'Opening the study', keep))) return;
        void askToStay();
      } else if (!(await keep())) return;
      else await sample(DEMO);
      sheet.value = { kind: 'none' };
    },
    async blank() {
      if (isElsewhere()) return;
      if (keeping.study.value.records) {
        trouble.value =
          'Your records are kept here already. Save them as a study file and erase them first, or go on with them.';
        return;
      }
      await work.run('Laying out a blank record', async (options, unbroken) => {
        const result = await blank(herd, hemisphere.value, options);
        await unbroken(async () => {
          const records = { files: [], hemisphere: hemisphere.value };
          if (!(await change(() => keeping.replaceRecords(records, [])))) return;
          void askToStay();
          await settle(result, { amendments: [], derived: keeping.derived.value }, false);
          putAway();
        });
      });
    },
  };
}
