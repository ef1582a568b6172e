import './page.css';
import '../plots/plots.css';
import { useMemo } from 'preact/hooks';
import type { Behind } from '../analyses/analysis.ts';
import type { ShownLength } from '../analyses/lengths.ts';
import { EntryView } from './entry-view.tsx';
import { type MethodText, MethodTextContext } from './method-text.ts';
import type { Block, Entry, Page, PageProblem } from './page.ts';
import { boardOf, groupsOf, isPrinted } from './page-layout.ts';
import { renderMarkdown } from './render-markdown.ts';
import type { PageRuntime } from './runtime.ts';
import { ShownLengthContext } from './shown-lengths.ts';
import { type TakeAway, TakeAwayContext } from './take-away.ts';

function Text({ markdown }: { readonly markdown: string }) {
  const html = useMemo(() => renderMarkdown(markdown), [markdown]);
  // Made from CommonMark without HTML, then sanitised.
  return <div class="page-text" dangerouslySetInnerHTML={{ __html: html }} />;
}

function Problems({ problems }: { readonly problems: readonly PageProblem[] }) {
  if (problems.length === 0) return null;
  return (
    <div class="page-problems" role="alert">
      <p>Parts of this page could not be read:</p>
      <ul>
        {problems.map(({ line, entry, message }) => (
          <li key={`${line} ${message}`}>
            line {line}
            {entry && (
              <>
                , <code>{entry}</code>
              </>
            )}
            : {message}
          </li>
        ))}
      </ul>
    </div>
  );
}

/** One computation of a page, over one cohort. */
interface PageSideView {
  readonly runtime: PageRuntime;
  /** In words, where two cohorts stand side by side. */
  readonly cohort: string;
  readonly takeAway: TakeAway | null;
  onOpenRows(behind: Behind): void;
}

interface PageViewProps {
  readonly page: Page;
  readonly runtime: PageRuntime;
  /** Asked to show the rows that a figure, a mark, a table row or a sentence rests on. */
  onOpenRows(behind: Behind): void;
  readonly takeAway?: TakeAway | null;
  /** What the page says of the cohort in view, where a second stands beside it. */
  readonly cohort?: string;
  /** The same page over a second cohort, entry beside entry. */
  readonly beside?: PageSideView | null;
  /** In which lengths are given. */
  readonly lengths?: ShownLength;
  readonly methodText?: MethodText;
}

function Side({ entry, side }: { readonly entry: Entry; readonly side: PageSideView }) {
  const { runtime, cohort, takeAway, onOpenRows } = side;
  return (
    <div class="side" data-cohort={cohort}>
      <p class="side-name">{cohort}</p>
      <TakeAwayContext.Provider value={takeAway}>
        <EntryView entry={entry} runtime={runtime} cohort={cohort} onOpenRows={onOpenRows} />
      </TakeAwayContext.Provider>
    </div>
  );
}

/** A page as people read it. */
export function PageView({ lengths = 'mm', methodText = () => null, ...props }: PageViewProps) {
  return (
    <ShownLengthContext.Provider value={lengths}>
      <MethodTextContext.Provider value={methodText}>
        <PageBody {...props} />
      </MethodTextContext.Provider>
    </ShownLengthContext.Provider>
  );
}

function PageBody({
  page,
  runtime,
  onOpenRows,
  takeAway = null,
  cohort,
  beside = null,
}: Omit<PageViewProps, 'lengths' | 'methodText'>) {
  const { front, blocks, problems } = page;
  const show = (block: Block) => {
    switch (block.type) {
      case 'text':
        return <Text key={`text ${block.line}`} markdown={block.markdown} />;
      case 'broken':
        return (
          <pre key={`broken ${block.line}`} class="page-broken" data-line={block.line}>
            <code>{block.source}</code>
          </pre>
        );
      case 'entry':
        return beside && block.entry.kind !== 'choice' ? (
          <div class="side-by-side" key={block.entry.name}>
            <Side entry={block.entry} side={{ runtime, cohort: cohort ?? '', takeAway, onOpenRows }} />
            <Side entry={block.entry} side={beside} />
          </div>
        ) : (
          <TakeAwayContext.Provider value={takeAway} key={block.entry.name}>
            <EntryView entry={block.entry} runtime={runtime} onOpenRows={onOpenRows} />
          </TakeAwayContext.Provider>
        );
    }
  };
  const onPaper = (group: readonly Block[], shown: ReturnType<typeof show>) =>
    isPrinted(group, page) ? (
      shown
    ) : (
      <div class="off-paper" key={shown.key}>
        {shown}
      </div>
    );
  const showGroup = (group: Block[]) => {
    const first = group[0]!;
    const isChoices = first.type === 'entry' && first.entry.kind === 'choice';
    const shown = isChoices ? (
      <div class="choices" key={`choices ${first.entry.name}`}>
        {group.map((block) => onPaper([block], show(block)))}
      </div>
    ) : (
      show(first)
    );
    return onPaper(group, shown);
  };
  const groups = groupsOf(blocks);
  const board = front.layout === 'board' && !beside ? boardOf(groups) : null;
  const look = ['page', beside && 'is-compared', board && 'is-board', front.print.length > 0 && 'has-paper'];
  return (
    <div class={look.filter(Boolean).join(' ')}>
      <header class="page-head">
        <h1>{front.title}</h1>
        {front.summary && <p class="page-summary">{front.summary}</p>}
      </header>
      <Problems problems={problems} />
      {board ? (
        <>
          {board.lead.map(showGroup)}
          <div class="board">
            {board.sections.map((section, at) => (
              <section class="board-section" key={`section ${at}`}>
                {section.map(showGroup)}
              </section>
            ))}
          </div>
          {board.after.map(showGroup)}
        </>
      ) : (
        groups.map(showGroup)
      )}
    </div>
  );
}
