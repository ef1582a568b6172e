import type { Signal } from '@preact/signals';
import type { Amendment } from '../sheet/amendment.ts';
import type { AppState, Loaded, Sheet } from './app-state.ts';
import { askToStay } from './ask-to-stay.ts';
import type { Editing } from './editing.ts';
import type { HerdOnScreen, Read } from './herd-on-screen.ts';
import type { HerdMethods } from './herd-service.ts';
import type { Keeping } from './keeping.ts';
import type { FilesLookedOver } from './looked-over.ts';
import type { OneWork } from './one-work.ts';
import { blank, readRecords } from './open-records.ts';
import type { Caller } from './rpc.ts';
import { DEMO, type Sample } from './samples.ts';
import type { Study } from './store/kept.ts';

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
  kept(): Promise<void>;
  /** What is kept, else the demo herd. */
  keptOrDemo(): Promise<void>;
  sample(name: string, amendments?: readonly Amendment[]): Promise<void>;
  study(study: Study): Promise<void>;
  blank(): Promise<void>;
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

  /** False where nothing was opened. `keep` comes between reading and showing. */
  async function own(study: Study, stage: string, keep: () => Promise<boolean>): Promise<boolean> {
    const { records } = study;
    if (!records) return false;
    const result = await work.run(stage, (options) => readRecords(herd, records, options));
    if (!result || !(await keep())) return false;
    hemisphere.value = records.hemisphere;
    await settle(result, study, false);
    return true;
  }

  async function kept(): Promise<void> {
    await own(keeping.study.value, 'Opening your records', async () => true);
  }

  async function sample(name: string, amendments: readonly Amendment[] = []): Promise<void> {
    const found = samples[name];
    if (!found) throw new Error(`sample must be one of ${Object.keys(samples).join(', ')}: ${name}`);
    const stage = name === DEMO ? 'Opening the demo herd' : 'Opening the learning herd';
    // Asked for now: at the start the engine is still on its way.
    const asked = found.files();
    asked.catch(() => undefined);
    const result = await work.run(stage, async (options) => {
      const { inspections } = await lookedOver.look(await asked, options);
      const files = inspections.map(({ file, mapping }) => ({ file, mapping }));
      return herd.call('admit', { files, add: false, hemisphere: 'north' }, options);
    });
    if (result) {
      await settle({ ...result, sample: name }, { amendments, derived: keeping.derived.value }, true);
    }
  }

  return {
    settle,
    async readAnew(stood) {
      const sentence = trouble.value;
      const derived = stood.isDemo ? [] : keeping.study.value.derived;
      await settle(stood, { amendments: editing.log.value, derived }, stood.isDemo);
      trouble.value ??= sentence;
    },
    kept,
    keptOrDemo: () => (keeping.study.value.records ? kept() : sample(DEMO)),
    sample,
    async study(study) {
      const keep = () => change(() => keeping.replaceAll(study));
      if (study.records) {
        if (!(await own(study, 'Opening the study', keep))) return;
        void askToStay();
      } else if (!(await keep())) return;
      else await sample(DEMO);
      sheet.value = { kind: 'none' };
    },
    async blank() {
      if (keeping.study.value.records) {
        trouble.value =
          'Your records are kept here already. Save them as a study file and erase them first, or go on with them.';
        return;
      }
      const result = await work.run('Laying out a blank record', (options) =>
        blank(herd, hemisphere.value, options),
      );
      if (!result) return;
      if (!(await change(() => keeping.replaceRecords({ files: [], hemisphere: hemisphere.value }, []))))
        return;
      void askToStay();
      await settle(result, { amendments: [], derived: keeping.derived.value }, false);
    },
  };
}
