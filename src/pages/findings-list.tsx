import type { AnalysisResult, Behind } from '../analyses/analysis.ts';

interface FindingsListProps {
  readonly analysis: AnalysisResult;
  readonly limit?: number | undefined;
  onOpenRows(behind: Behind): void;
}

/**
 * What was found, a sentence each, with its caution and the way to its rows; then what could not be worked out. A caution
 * that several sentences share stands under the first of them: said under each, it is no longer read.
 */
export function FindingsList({ analysis, limit, onOpenRows }: FindingsListProps) {
  const findings = analysis.findings.slice(0, limit);
  return (
    <ul class="findings">
      {findings.map(({ sentence, caution, behind }, at) => (
        <li key={at} class="finding">
          <p>{sentence}</p>
          {caution && findings.findIndex((each) => each.caution === caution) === at && (
            <p class="finding-caution">{caution}</p>
          )}
          {behind && (
            <button type="button" class="small" onClick={() => onOpenRows(behind)}>
              Rows behind this
            </button>
          )}
        </li>
      ))}
      {analysis.unavailable.map(({ sentence }) => (
        <li key={sentence} class="finding is-unavailable">
          <p>{sentence}</p>
        </li>
      ))}
      {findings.length === 0 && analysis.unavailable.length === 0 && (
        <li class="finding is-unavailable">
          <p>There is nothing to report here.</p>
        </li>
      )}
    </ul>
  );
}
