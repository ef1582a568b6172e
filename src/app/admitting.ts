import type { AppState } from './app-state.ts';
import { askToStay } from './ask-to-stay.ts';
import { freeName } from './file-names.ts';
import type { Read } from './herd-on-screen.ts';
import type { Opening, OpeningParts } from './opening.ts';
import type { KeptFile, KeptRecords, Study } from './store/kept.ts';
import { isStudyFile } from './study/study-name.ts';

/** Files that the user chooses: looked over, mapped, admitted and kept; or a study, opened. */
export function makeAdmitting(
  parts: OpeningParts,
  opening: Opening,
): Pick<AppState, 'openFiles' | 'changeMapping' | 'admit'> {
  const { herd, screen, editing, keeping, lookedOver, work, change, trouble, sheet, hemisphere } = parts;

  async function openStudyFile(file: File): Promise<void> {
    const stage = `Opening ${file.name}`;
    const unpacked = await work.run(stage, async ({ signal, progress }) => {
      const { unpackStudy } = await import('./study/unpack-study.ts');
      return unpackStudy(file.name, file, {
        signal,
        progress: (fraction) => progress({ fraction, stage }),
      });
    });
    if (!unpacked) return;
    if (isNothing(keeping.study.value)) await opening.study(unpacked);
    else sheet.value = { kind: 'study', file: file.name, study: unpacked };
  }

  return {
    async openFiles(files) {
      if (files.length === 0) return;
      const [study] = files.filter((file) => isStudyFile(file.name));
      if (study) {
        await openStudyFile(study);
        return;
      }
      const read = await work.run('Reading files', (options) => lookedOver.look(files, options));
      if (!read) return;
      sheet.value = { kind: 'mapping', inspections: read.inspections };
      if (read.refusals.length > 0) trouble.value = read.refusals.join('\n');
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
      if (opening.isElsewhere()) return;
      const { inspections } = sheet.value;
      const { records: before, amendments: log, derived } = keeping.study.value;
      const taken = new Set(how === 'together' ? before?.files.map((file) => file.name) : []);
      const names = inspections.map(({ file }) => freeName(file, taken));
      const fresh = inspections.map(
        ({ file, mapping }, k): KeptFile => ({ name: names[k]!, bytes: lookedOver.named(file), mapping }),
      );
      const records: KeptRecords = {
        files: how === 'together' && before ? [...before.files, ...fresh] : fresh,
        hemisphere: hemisphere.value,
      };
      const kept = how === 'in-place' ? [] : log;

      /** Keeps what was read, then shows it; false where another tab has come to keep meanwhile. */
      async function stand(read: Read): Promise<boolean> {
        if (!(await change(() => keeping.replaceRecords(records, kept)))) return false;
        for (const { mapping } of fresh) await change(() => keeping.rememberMapping(mapping));
        void askToStay();
        const { lengthsAsInFiles } = await import('./lengths-as-in-files.ts');
        await lengthsAsInFiles(
          keeping,
          inspections.map(({ mapping }) => mapping),
        );
        await opening.settle(read, { amendments: kept, derived }, false);
        const unfit = editing.conflicts.value.length;
        if (unfit > 0) trouble.value = unfitWords(unfit);
        sheet.value = { kind: 'records' };
        return true;
      }

      const isIn = await work.run('Checking rows', async (options, unbroken) => {
        const files = inspections.map(({ file, mapping }, k) => ({ file, mapping, as: names[k]! }));
        const input = { files, add: how === 'together', hemisphere: hemisphere.value };
        const read = await herd.call('admit', input, options);
        return unbroken(() => stand(read));
      });
      if (isIn === false) {
        const sentence = trouble.value;
        await opening.keptOrDemo();
        trouble.value ??= sentence;
      } else if (isIn === null && screen.loaded.value && !work.isUnderWay()) {
        // The worker stands again on what was open; the view of it starts anew.
        await opening.readAnew(screen.loaded.value);
      }
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
