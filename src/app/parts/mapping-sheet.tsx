import './mapping-sheet.css';
import type { FileKind } from '../../intake/mapping.ts';
import { changeAlike, firstAlike, openProblems } from '../alike-files.ts';
import type { AppState } from '../app-state.ts';
import type { Inspection } from '../herd-service.ts';
import { Admission } from './admission.tsx';
import { FileMapping } from './file-mapping.tsx';
import { HemisphereChoice } from './hemisphere-choice.tsx';

/** How each file will be read, open to change, before a row is admitted. */
export function MappingSheet({
  state,
  inspections,
}: {
  readonly state: AppState;
  readonly inspections: readonly Inspection[];
}) {
  const open = openProblems(inspections);
  const close = (): void => {
    state.sheet.value = { kind: 'none' };
  };
  return (
    <section class="sheet" aria-label="How the files are read" data-testid="mapping">
      <h1>How your files are read</h1>
      <p class="lead">
        Look over what each column was taken for, change what is wrong, then read the rows. Nothing leaves
        this machine, and your files are not changed. Rows that cannot be read are kept and shown next, each
        with its reason.
      </p>
      {inspections.map((inspection) => (
        <FileMapping
          key={inspection.file}
          inspection={inspection}
          like={firstAlike(inspections, inspection)}
          change={(change) => {
            for (const { file, mapping } of changeAlike(inspections, inspection.file, change)) {
              state.changeMapping(file, mapping);
            }
          }}
          readAs={(kind) => void readAs(state, inspection, kind)}
        />
      ))}
      <HemisphereChoice state={state} legend="Seasons" name="hemisphere" />
      <div class="sticky-actions">
        {open.length > 0 && (
          <div class="warning" role="alert">
            <p>To settle before the rows can be read:</p>
            <ul>
              {open.map((problem) => (
                <li key={problem}>{problem}</li>
              ))}
            </ul>
          </div>
        )}
        <p class="actions">
          <Admission state={state} ready={open.length === 0} />
          <button type="button" class="button" onClick={close}>
            Do not open them
          </button>
        </p>
      </div>
    </section>
  );
}

/** Asks the worker, which holds the cells, what the columns are if the file holds the other kind of rows. */
async function readAs(state: AppState, { file, mapping }: Inspection, kind: FileKind): Promise<void> {
  try {
    state.changeMapping(file, await state.herd.call('repropose', { file, kind }));
  } catch (error) {
    state.trouble.value = error instanceof Error ? error.message : String(error);
    state.changeMapping(file, { ...mapping }); // draws the choice as it still is
  }
}
