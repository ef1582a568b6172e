import type { Analysis, AnalysisResult } from './analysis.ts';
import { asSentence, tied } from './format.ts';

/** The same analysis with its sentences in the one style in which they are shown. */
export function worded<Options>(analysis: Analysis<Options>): Analysis<Options> {
  return {
    ...analysis,
    run: async (options, context) => wordedResult(await analysis.run(options, context)),
  };
}

function wordedResult(result: AnalysisResult): AnalysisResult {
  const styled = (text: string): string => tied(asSentence(text));
  return {
    ...result,
    findings: result.findings.map((finding) => ({ ...finding, sentence: styled(finding.sentence) })),
    // Several levels may be refused in the same words: once is enough.
    unavailable: uniqueBy(
      result.unavailable.map((why) => ({ ...why, sentence: styled(why.sentence) })),
      (why) => why.sentence,
    ),
    assumes: result.assumes.map(styled),
  };
}

function uniqueBy<T>(values: readonly T[], key: (value: T) => string): T[] {
  return [...new Map(values.map((value) => [key(value), value])).values()];
}
