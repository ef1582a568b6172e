import './sheet-place.css';
import { computed, useSignal } from '@preact/signals';
import { useEffect, useMemo } from 'preact/hooks';
import { Grid } from '../../sheet/grid.tsx';
import { setWidth } from '../../sheet/sheet-layout.ts';
import type { AppState } from '../app-state.ts';
import { makeSheetModel } from '../sheet-model.ts';
import type { PanelProps, SheetPanel } from './panel-props.ts';
import { AddVisit } from './sheet-add-visit.tsx';
import { ColumnPanel } from './sheet-column-panel.tsx';
import { ColumnsPanel } from './sheet-columns-panel.tsx';
import { DerivedPanel } from './sheet-derived.tsx';
import { HistoryPanel } from './sheet-history.tsx';
import { OutcomeNote } from './sheet-outcome.tsx';
import { StartFromNothing } from './sheet-start.tsx';
import { step } from './sheet-step.ts';
import { StrikePanel } from './sheet-strike.tsx';
import { SheetToolbar } from './sheet-toolbar.tsx';

/** Forms that need the whole width stand above the grid. */
const WIDE: ReadonlySet<SheetPanel['kind']> = new Set(['add', 'derived', 'start']);

/** The herd's visits, foot by foot, to look through, change and add to. */
export function SheetPlace({ state }: { readonly state: AppState }) {
  const { herd } = state;
  const model = useMemo(
    () =>
      makeSheetModel({
        herd,
        amend: state.editing,
        kept: state.keeping,
        version: state.cohortVersion,
        standing: computed(() => (state.loaded.value ? (state.sampleTitle() ?? 'own') : 'none')),
      }),
    [state, herd],
  );
  useEffect(() => model.dispose, [model]);
  const panel = useSignal<SheetPanel | null>(null);
  const open = (next: SheetPanel | null): void => {
    panel.value = next;
  };
  const onKeyDown = (event: KeyboardEvent) => {
    const isField =
      event.target instanceof Element && event.target.closest('input, textarea, [contenteditable]');
    if (isField || !(event.ctrlKey || event.metaKey) || event.altKey) return;
    const key = event.key.toLowerCase();
    const isRedo = key === 'y' || (key === 'z' && event.shiftKey);
    if (!isRedo && key !== 'z') return;
    event.preventDefault();
    void step(model, isRedo ? state.editing.redo : state.editing.undo, isRedo ? 'made again' : 'taken back');
  };
  const source = model.source.value;
  const shown = model.shown.value;
  const props: PanelProps = { state, model, herd, open };
  return (
    <section class="records-place" aria-label="Records" data-testid="sheet" onKeyDown={onKeyDown}>
      <SheetToolbar {...props} panel={panel.value} />
      <OutcomeNote model={model} />
      {model.failure.value && (
        <p class="warning" role="alert">
          The records could not be shown: {model.failure.value}
        </p>
      )}
      <div class={panel.value && !WIDE.has(panel.value.kind) ? 'records-split is-beside' : 'records-split'}>
        {panel.value && <Panel key={panelKey(panel.value)} {...props} panel={panel.value} />}
        {source && source.rowCount > 0 && (
          <Grid
            source={source}
            label="Visits, one row a foot"
            identity={shown.fixed}
            sort={model.sort.value}
            onSort={(sort) => {
              model.sort.value = sort;
            }}
            editing={model.editing}
            widths={model.layout.value.widths}
            onWidth={({ name }, px) => model.setLayout(setWidth(model.layout.value, name, px))}
            onAbout={({ name }) => open({ kind: 'column', name })}
            onMarked={(range) => {
              model.marked.value = range;
            }}
            goTo={model.goTo.value}
          />
        )}
        {!source && !model.failure.value && (
          <p class="records-empty" role="status">
            Looking up the rows …
          </p>
        )}
        {source?.rowCount === 0 && <Empty {...props} />}
      </div>
      {source && (
        <p class="soft records-help">
          Type in a cell, or press Enter or F2, to change it; units are understood, as in 3 1/4 in. Shift with
          arrows or dragging marks cells; Ctrl+C copies them, Ctrl+V pastes, Delete clears. On a heading Enter
          sorts, Alt+↓ tells about the column, Shift+← and → make it narrower or wider. Your files are never
          changed: every change is kept apart and can be taken back.
        </p>
      )}
    </section>
  );
}

const panelKey = (panel: SheetPanel) => (panel.kind === 'column' ? `column ${panel.name}` : panel.kind);

function Panel({ panel, ...props }: PanelProps & { readonly panel: SheetPanel }) {
  switch (panel.kind) {
    case 'column':
      return <ColumnPanel {...props} name={panel.name} />;
    case 'columns':
      return <ColumnsPanel {...props} />;
    case 'history':
      return <HistoryPanel {...props} />;
    case 'add':
      return <AddVisit {...props} />;
    case 'derived':
      return <DerivedPanel {...props} />;
    case 'strike':
      return <StrikePanel {...props} />;
    case 'start':
      return <StartFromNothing {...props} />;
  }
}

function Empty({ model, open }: PanelProps) {
  return model.filters.value.length > 0 ? (
    <p class="records-empty">No row fits what is filtered. Take a filter away above to see others.</p>
  ) : (
    <p class="records-empty">
      There is no visit yet.{' '}
      <button type="button" class="button main" onClick={() => open({ kind: 'add' })}>
        Add the first visit
      </button>
    </p>
  );
}
