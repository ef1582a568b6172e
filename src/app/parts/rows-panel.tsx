import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { Behind } from '../../analyses/analysis.ts';
import { SHOWN } from '../../herd/cycle-columns.ts';
import { TABLE_FORMATS, type TableFormat } from '../../pages/take-away.ts';
import { TakeAwayButtons } from '../../pages/take-away-buttons.tsx';
import { RowGrid } from '../../sheet/row-grid.tsx';
import type { RowSource } from '../../sheet/row-source.ts';
import type { AppState } from '../app-state.ts';
import { saveTable } from '../take-away.ts';

const whole = new Intl.NumberFormat('en-GB');
const KINDS = { trim_cycle: 'trim cycles', foot_visit: 'foot visits', spell: 'runs of visits' } as const;

/** The rows that a figure was computed from. */
export function RowsPanel({ state, behind }: { readonly state: AppState; readonly behind: Behind }) {
  const source = useSignal<RowSource | null>(null);
  const failed = useSignal<string | null>(null);
  useEffect(() => {
    const controller = new AbortController();
    source.value = null;
    failed.value = null;
    state.herd.call('countRows', behind, { signal: controller.signal }).then(
      (rowCount) => {
        if (!controller.signal.aborted) source.value = rowsOf(state, behind, rowCount);
      },
      (error: Error) => {
        if (!controller.signal.aborted) failed.value = error.message;
      },
    );
    return () => controller.abort();
  }, [behind, state]);
  const close = (): void => {
    state.opened.value = null;
  };
  const panel = useRef<HTMLElement>(null);
  const closing = useRef<HTMLButtonElement>(null);
  useEffect(() => {
    const opener = document.activeElement;
    closing.current?.focus();
    return () => {
      // Back to what opened the rows, unless the reader has gone elsewhere by now.
      const at = document.activeElement;
      const isHere = at === null || at === document.body || panel.current?.contains(at);
      if (isHere && opener instanceof HTMLElement && opener.isConnected) opener.focus();
    };
  }, [behind]);
  return (
    <section
      ref={panel}
      class="rows-panel"
      aria-label={`Rows behind: ${behind.title}`}
      data-testid="rows-panel"
      onKeyDown={(event) => event.key === 'Escape' && close()}
    >
      <header>
        <h2>
          Rows behind: {behind.title}
          {source.value && (
            <span class="soft" data-testid="rows-count">
              {' '}
              {whole.format(source.value.rowCount)} {KINDS[behind.relation]}
            </span>
          )}
        </h2>
        <span class="actions">
          <TakeAwayButtons
            what="these rows"
            formats={TABLE_FORMATS}
            take={(format) =>
              saveTable(state.herd, 'rows', {
                format: format as TableFormat,
                of: { kind: 'rows', behind },
              })
            }
          />
          <button type="button" class="button" onClick={close} ref={closing}>
            Close
          </button>
        </span>
      </header>
      {failed.value && <p class="warning">{failed.value}</p>}
      {source.value && <RowGrid source={source.value} label={behind.title} identity={3} />}
      {!source.value && !failed.value && <p>Fetching the rows…</p>}
    </section>
  );
}

function rowsOf(state: AppState, behind: Behind, rowCount: number): RowSource {
  return {
    rowCount,
    columns: SHOWN[behind.relation],
    fetch: (offset, limit, sort) => state.herd.call('fetchRows', { behind, offset, limit, sort }),
  };
}
