import { type ReadonlySignal, useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { makeRoom } from '../../core/let-go.ts';
import type { Page } from '../../pages/page.ts';
import type { ChoiceValue } from '../../pages/page-executor.ts';
import { createPageRuntime, type PageRuntime } from '../../pages/runtime.ts';
import type { AppState } from '../app-state.ts';
import { type PageSide, pageExecutor, type SceneExecutor } from '../executor.ts';

export interface RunningSide {
  readonly runtime: PageRuntime;
  readonly executor: SceneExecutor;
}

/** Choices made on a page before, and where those made now go. */
export interface KeptChoices {
  readonly choices: Readonly<Record<string, ChoiceValue>>;
  readonly keep: (name: string, value: ChoiceValue) => void;
}

/** A page computed over one cohort for as long as the component stands; null before, and where there is no side. */
export function usePageSide(
  state: AppState,
  page: Page,
  side: PageSide | null,
  following: ReadonlySignal<RunningSide | null> | null = null,
  kept: KeptChoices | null = null,
): ReadonlySignal<RunningSide | null> {
  const running = useSignal<RunningSide | null>(null);
  const key = side && JSON.stringify(side);
  // Made in an effect: by then the page before this one has let go of what it kept.
  useEffect(() => {
    if (!side) return;
    // Tables of the page before, where they are of a large herd.
    makeRoom(state.loaded.peek()?.summary.counts.footVisits ?? 0, Number.POSITIVE_INFINITY);
    const executor = pageExecutor(state.herd, state.cohortVersion, side, state.lengths);
    const choices = following?.peek()?.runtime.choices() ?? kept?.choices ?? {};
    const made = createPageRuntime(page, executor, { choices });
    const runtime: PageRuntime = {
      ...made,
      setChoice(name, value) {
        made.setChoice(name, value);
        kept?.keep(name, value);
      },
    };
    running.value = { runtime, executor };
    return () => {
      running.value = null;
      runtime.dispose();
    };
    // The page itself is followed with `replacePage`.
  }, [key, state]);
  return running;
}
