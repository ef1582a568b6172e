import { useEffect, useMemo } from 'preact/hooks';
import { CAUTIONS, type CautionKey } from '../../analyses/cautions.ts';
import { PageView } from '../../pages/page-view.tsx';
import { createPageRuntime } from '../../pages/runtime.ts';
import { pageExecutor } from '../executor.ts';
import type { ShippedPage } from '../shipped-pages.ts';
import type { AppState } from '../state.ts';

/** One page, computed over the cohort, with the cautions that belong to it. */
export function PageHost({ state, shown }: { readonly state: AppState; readonly shown: ShippedPage }) {
  const runtime = useMemo(
    () => createPageRuntime(shown.page, pageExecutor(state.herd, state.cohortVersion)),
    [shown, state],
  );
  useEffect(() => () => runtime.dispose(), [runtime]);
  return (
    <article class="page-host" data-testid="page">
      <PageView
        page={shown.page}
        runtime={runtime}
        onOpenRows={(behind) => {
          state.opened.value = behind;
        }}
      />
      <Cautions keys={shown.page.front.cautions} isDemo={state.loaded.value?.isDemo ?? false} />
    </article>
  );
}

function Cautions({ keys, isDemo }: { readonly keys: readonly string[]; readonly isDemo: boolean }) {
  const known = keys.filter((key): key is CautionKey => key in CAUTIONS);
  const shown: CautionKey[] = isDemo ? ['demo', ...known] : known;
  return (
    <aside class="cautions" aria-label="Cautions">
      <h2>Before you act on this page</h2>
      <ul>
        {shown.map((key) => (
          <li key={key}>{CAUTIONS[key]}</li>
        ))}
      </ul>
    </aside>
  );
}
