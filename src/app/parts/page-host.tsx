import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { CAUTIONS, type CautionKey } from '../../analyses/cautions.ts';
import { PageView } from '../../pages/page-view.tsx';
import { createPageRuntime, type PageRuntime } from '../../pages/runtime.ts';
import { pageExecutor } from '../executor.ts';
import type { ShippedPage } from '../shipped-pages.ts';
import type { AppState } from '../state.ts';

/** One page, computed over the cohort, with the cautions that belong to it. */
export function PageHost({ state, shown }: { readonly state: AppState; readonly shown: ShippedPage }) {
  const running = useSignal<PageRuntime | null>(null);
  // Made in an effect: by then the page before this one has let go of what it kept.
  useEffect(() => {
    const runtime = createPageRuntime(shown.page, pageExecutor(state.herd, state.cohortVersion));
    running.value = runtime;
    return () => runtime.dispose();
  }, [shown, state, running]);
  const runtime = running.value;
  if (!runtime) return null;
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
