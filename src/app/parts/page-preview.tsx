import '../../pages/page.css';
import { cautionsOf } from '../page-cautions.ts';
import type { ShelvedPage } from '../pages-shelf.ts';
import { Cautions } from './cautions.tsx';

/** A page while its records are on their way: what can be read without them. */
export function PagePreview({ shown: { page, html = {} } }: { readonly shown: ShelvedPage }) {
  const { front, blocks } = page;
  return (
    <article class="page-host" data-testid="preview" aria-busy="true">
      <div class="page">
        <header class="page-head">
          <h1>{front.title}</h1>
          {front.summary && <p class="page-summary">{front.summary}</p>}
        </header>
        {blocks.map((block) => {
          if (block.type === 'text') {
            const text = html[block.line];
            return text ? (
              // Made from our own CommonMark, without HTML, while the program was built.
              <div class="page-text" key={block.line} dangerouslySetInnerHTML={{ __html: text }} />
            ) : null;
          }
          if (block.type === 'broken' || QUIET.has(block.entry.kind)) return null;
          return (
            <section class="entry" key={block.entry.line}>
              <div class="entry-status is-waiting">Waiting for the records…</div>
            </section>
          );
        })}
      </div>
      <Cautions sentences={cautionsOf(page, false)} />
    </article>
  );
}

/** Entries that show nothing of their own, or little. */
const QUIET = new Set(['query', 'column', 'choice', 'analysis']);
