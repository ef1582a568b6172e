import type { ComponentChildren } from 'preact';
import type { AnalysisResult } from '../analyses/analysis.ts';
import { formatNumber } from '../core/format-value.ts';

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
        <Part title="In plain words">{method.doc}</Part>
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
    </details>
  );
}
