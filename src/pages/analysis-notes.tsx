import type { ComponentChildren } from 'preact';
import { useContext, useMemo, useState } from 'preact/hooks';
import type { AnalysisResult } from '../analyses/analysis.ts';
import { formatNumber } from '../core/format-value.ts';
import { MethodTextContext } from './method-text.ts';
import { renderMethod } from './render-markdown.ts';

const count = (n: number, one: string, many: string) => `${formatNumber(n)} ${n === 1 ? one : many}`;

function Part({ title, children }: { readonly title: string; readonly children: ComponentChildren }) {
  return (
    <>
      <dt>{title}</dt>
      <dd>{children}</dd>
    </>
  );
}

const Sentences = ({ of }: { readonly of: readonly string[] }) =>
  of.length === 1 ? (
    of[0]
  ) : (
    <ul>
      {of.map((sentence) => (
        <li key={sentence}>{sentence}</li>
      ))}
    </ul>
  );

/** The method's own text: what is asked, the formulas, what it was checked against. Made when it is first opened. */
function WholeMethod({ doc }: { readonly doc: string }) {
  const text = useContext(MethodTextContext)(doc);
  const [opened, setOpened] = useState(false);
  const html = useMemo(() => (opened && text ? renderMethod(text) : ''), [opened, text]);
  if (!text) return null;
  return (
    <details class="whole-method" onToggle={(event) => event.currentTarget.open && setOpened(true)}>
      <summary>The method in full</summary>
      {/* From the program's own documents, then sanitised. */}
      <div class="page-text" dangerouslySetInnerHTML={{ __html: html }} />
    </details>
  );
}

/** Method, source, what it takes for granted, and what it could not work out: folded away, never missing. */
export function AnalysisNotes({
  analysis,
  title,
}: {
  readonly analysis: AnalysisResult;
  readonly title?: string | undefined;
}) {
  const { method, counts, assumes, cautions, unavailable } = analysis;
  return (
    <details class="analysis-notes">
      <summary>How this was worked out{title && <span class="notes-title">: {title}</span>}</summary>
      <dl>
        <Part title="Method">{method.name}</Part>
        <Part title="Source">{method.source}</Part>
        <Part title="Rests on">
          {count(counts.horses, 'horse', 'horses')}, {count(counts.feet, 'foot', 'feet')} and{' '}
          {count(counts.cycles, 'trim cycle', 'trim cycles')}
        </Part>
        {assumes.length > 0 && (
          <Part title="Takes for granted">
            <Sentences of={assumes} />
          </Part>
        )}
        {unavailable.length > 0 && (
          <Part title="Could not be worked out">
            <Sentences of={unavailable.map(({ sentence }) => sentence)} />
          </Part>
        )}
        {cautions.length > 0 && (
          <Part title="Mind">
            <Sentences of={cautions} />
          </Part>
        )}
      </dl>
      <WholeMethod doc={method.doc} />
    </details>
  );
}
