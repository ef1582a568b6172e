import './page.css';
import '../plots/plots.css';
import { useMemo } from 'preact/hooks';
import type { Behind } from '../analyses/analysis.ts';
import { EntryView } from './entry-view.tsx';
import type { Block, Page, PageProblem } from './page.ts';
import { renderMarkdown } from './render-markdown.ts';
import type { PageRuntime } from './runtime.ts';

/** Blocks with neighbouring choices put together, so that they stand in one row. */
function groups(blocks: readonly Block[]): Block[][] {
  const isChoice = (block: Block | undefined) => block?.type === 'entry' && block.entry.kind === 'choice';
  const grouped: Block[][] = [];
  for (const block of blocks) {
    const last = grouped.at(-1);
    if (last && isChoice(block) && isChoice(last.at(-1))) last.push(block);
    else grouped.push([block]);
  }
  return grouped;
}

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

export interface PageViewProps {
  readonly page: Page;
  readonly runtime: PageRuntime;
  /** Asked to show the rows that a figure, a mark, a table row or a sentence rests on. */
  onOpenRows(behind: Behind): void;
}

/** A page as people read it. */
export function PageView({ page, runtime, onOpenRows }: PageViewProps) {
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
        return (
          <EntryView key={block.entry.name} entry={block.entry} runtime={runtime} onOpenRows={onOpenRows} />
        );
    }
  };
  return (
    <div class="page">
      <header class="page-head">
        <h1>{front.title}</h1>
        {front.summary && <p class="page-summary">{front.summary}</p>}
      </header>
      <Problems problems={problems} />
      {groups(blocks).map((group) => {
        const first = group[0]!;
        if (first.type !== 'entry' || first.entry.kind !== 'choice') return show(first);
        return (
          <div class="choices" key={`choices ${first.entry.name}`}>
            {group.map(show)}
          </div>
        );
      })}
    </div>
  );
}
