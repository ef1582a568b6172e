import './page-parts.css';
import { batch, useSignal, useSignalEffect } from '@preact/signals';
import { useEffect, useMemo, useState } from 'preact/hooks';
import { counted, horsesText } from '../../analyses/format.ts';
import type { HerdCounts } from '../../analyses/load-herd.ts';
import { localToday, longDate } from '../../core/civil-day.ts';
import type { Page } from '../../pages/page.ts';
import { pageDocument } from '../../pages/page-document.ts';
import { fileStem } from '../../pages/page-text.ts';
import { PageView } from '../../pages/page-view.tsx';
import { OpenSampleContext } from '../../pages/question-entry.tsx';
import type { AppState } from '../app-state.ts';
import { cohortWords } from '../cohort.ts';
import { type ComparedCohort, comparedCohorts } from '../compared-cohorts.ts';
import { methodText } from '../method-texts.ts';
import { cautionsOf } from '../page-cautions.ts';
import type { Shelf, ShelvedPage } from '../pages-shelf.ts';
import { saveFile } from '../save-file.ts';
import { pageTakeAway } from '../take-away.ts';
import { Cautions } from './cautions.tsx';
import { PageTools } from './page-tools.tsx';
import { PageWriter } from './page-writer.tsx';
import { type KeptChoices, type RunningSide, usePageSide } from './use-page-side.ts';

const LEFT = { side: 'left', where: null } as const;

interface PageHostProps {
  readonly state: AppState;
  readonly shelf: Shelf;
  readonly shown: ShelvedPage;
  /** It was only just made: its text is open for writing. */
  readonly fresh: boolean;
}

/** One page, computed over the cohort, with what can be done with it and the cautions that belong to it. */
export function PageHost({ state, shelf, shown, fresh }: PageHostProps) {
  const page = useSignal<Page>(shown.page);
  const writing = useSignal(fresh && shown.own);
  const compared = useSignal<ComparedCohort | null>(null);
  const left = usePageSide(state, page.peek(), LEFT, null, keptChoices(state, shown.id));
  const right = usePageSide(
    state,
    page.peek(),
    compared.value && { side: 'right', where: compared.value.where },
    left,
  );
  const rightCounts = useCounts(state, right.value, compared.value);
  const summary = state.loaded.value?.summary;
  const saved = state.keeping.cohorts.value;
  const choices = useMemo(() => (summary ? comparedCohorts(summary, saved) : []), [summary, saved]);

  useSignalEffect(() => follow(left.value, right.value, page.value));
  // A text that was changed elsewhere (renamed in the contents) is read anew unless it is being written here.
  useEffect(() => {
    if (!writing.peek()) put(shown.page);
  }, [shown.page]);

  function put(next: Page): void {
    if (next === page.peek()) return;
    batch(() => {
      for (const side of [left.peek(), right.peek()]) side?.runtime.replacePage(next);
      page.value = next;
    });
  }

  const cohort = `${capital(cohortWords(state.cohort.value))} (${nWords(state.cohortCounts.value)})`;
  const other = compared.value ? `${capital(compared.value.words)} (${nWords(rightCounts)})` : '';
  const takeAways = useMemo(() => {
    const of = (side: RunningSide | null, words: () => string) =>
      side &&
      pageTakeAway({
        herd: state.herd,
        scene: side.executor.scene,
        cohort: words,
        lengths: () => state.lengths.peek(),
      });
    return { left: of(left.value, () => `${cohort}.`), right: of(right.value, () => `${other}.`) };
  }, [left.value, right.value, cohort, other]);

  if (!left.value) return null;
  const { runtime } = left.value;
  const open =
    (side: RunningSide) => (behind: Parameters<Parameters<typeof PageView>[0]['onOpenRows']>[0]) => {
      const scene = side.executor.scene();
      state.opened.value = { ...behind, scene } as typeof behind;
    };
  const isDemo = state.loaded.value?.isDemo ?? false;
  const cautions = cautionsOf(page.value, isDemo);
  const saveDocument = async () => {
    const sides = [
      { runtime, cohort },
      ...(right.value ? [{ runtime: right.value.runtime, cohort: other }] : []),
    ];
    await Promise.all(sides.map((side) => side.runtime.settled()));
    const records = isDemo
      ? (state.sampleTitle() ?? 'Invented horses')
      : `Records: ${state.loaded.value?.books.map(({ file }) => file).join(', ')}`;
    const made = longDate(localToday());
    const html = pageDocument({
      page: page.value,
      sides,
      records,
      made,
      cautions,
      lengths: state.lengths.peek(),
      methodText,
    });
    saveFile(`${fileStem(page.value.front.title)}.html`, html, 'text/html');
  };

  // A page may name a herd that there is not.
  const openSample = (name: string): void => void state.change(() => state.openSample(name));
  const view = (
    <OpenSampleContext.Provider value={openSample}>
      <PageView
        lengths={state.lengths.value}
        methodText={methodText}
        page={page.value}
        runtime={runtime}
        onOpenRows={open(left.value)}
        takeAway={takeAways.left}
        cohort={cohort}
        beside={
          right.value && {
            runtime: right.value.runtime,
            cohort: other,
            takeAway: takeAways.right,
            onOpenRows: open(right.value),
          }
        }
      />
    </OpenSampleContext.Provider>
  );
  return (
    <article class="page-host" data-testid="page">
      <PageTools
        state={state}
        shelf={shelf}
        shown={shown}
        page={page.value}
        writing={writing}
        compared={compared}
        choices={choices}
        chosen={() => runtime.choices()}
        onSaveDocument={saveDocument}
      />
      {compared.value && (
        <p class="soft compared-note" data-testid="compared">
          {cohort} on the left, {other} on the right. Each column has its own scales: read the axes. Horses
          can be in both.
        </p>
      )}
      {writing.value ? (
        <PageWriter
          id={shown.id}
          text={shown.text}
          page={page}
          runtime={runtime}
          put={put}
          save={(text) => shelf.save(shown.id, text)}
          lookUpAnalyses={() => state.herd.call('describeAnalyses', null)}
        >
          {view}
        </PageWriter>
      ) : (
        view
      )}
      <Cautions sentences={cautions} />
    </article>
  );
}

/** What was chosen on a page stays chosen, also in the study file. */
function keptChoices({ keeping }: AppState, id: string): KeptChoices {
  const name = `choices/${id}`;
  const choices = () => keeping.setting<KeptChoices['choices']>(name) ?? {};
  return {
    choices: choices(),
    keep: (entry, value) => void keeping.saveSetting(name, { ...choices(), [entry]: value }),
  };
}

/** Choices are made on the left; the right side follows them. */
function follow(left: RunningSide | null, right: RunningSide | null, page: Page): void {
  if (!left || !right) return;
  for (const { kind, name } of page.entries) {
    if (kind !== 'choice') continue;
    const { result } = left.runtime.state(name).value;
    if (result?.kind === 'choice' && result.value !== null) right.runtime.setChoice(name, result.value);
  }
}

function useCounts(
  state: AppState,
  side: RunningSide | null,
  compared: ComparedCohort | null,
): HerdCounts | null {
  const [counts, setCounts] = useState<HerdCounts | null>(null);
  const version = state.cohortVersion.value;
  useEffect(() => {
    if (!side || !compared) return;
    let stands = true;
    state.herd.call('countScene', side.executor.scene()).then(
      (found) => stands && setCounts(found),
      () => stands && setCounts(null),
    );
    return () => {
      stands = false;
      setCounts(null);
    };
  }, [side, compared, version]);
  return counts;
}

const capital = (text: string) => text.replace(/^./, (letter) => letter.toUpperCase());
const nWords = (counts: HerdCounts | null) =>
  counts
    ? `${horsesText(counts.horses)}, ${counted(counts.cycles, 'trim cycle', 'trim cycles')}`
    : 'counting';
