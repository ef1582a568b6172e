import type { AppState } from '../app-state.ts';

interface ChooseFilesProps {
  readonly state: AppState;
  readonly label: string;
  /** Endings of names. */
  readonly accept: string;
  readonly isMain?: boolean;
  readonly isMany?: boolean;
}

/** A button that asks for files and opens them; the same file can be chosen twice in a row. */
export function ChooseFiles({ state, label, accept, isMain = false, isMany = false }: ChooseFilesProps) {
  return (
    <label class={isMain ? 'button main' : 'button'}>
      {label}
      <input
        type="file"
        multiple={isMany}
        accept={accept}
        class="visually-hidden"
        onChange={(event) => {
          const input = event.currentTarget;
          void state.openFiles([...(input.files ?? [])]).then(() => {
            input.value = '';
          });
        }}
      />
    </label>
  );
}
