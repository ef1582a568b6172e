import type { Analysis, AnalysisContext, AnalysisResult } from '../analyses/analysis.ts';
import type { ShownLength } from '../analyses/lengths.ts';
import type { Remembered } from '../analyses/memory.ts';

/** The answer as it was given before, where its rows and options are the same and so is the unit of its lengths. */
export async function answerOf(
  { name }: Pick<Analysis<unknown>, 'name'>,
  options: unknown,
  lengths: ShownLength,
  memory: Remembered,
  make: () => Promise<AnalysisResult>,
): Promise<AnalysisResult> {
  const key = `${name} ${JSON.stringify(options)}`;
  const keyIn = (unit: ShownLength): string => `${key} in ${unit}`;
  const known = memory.ready<AnalysisResult>(key) ?? memory.ready<AnalysisResult>(keyIn(lengths));
  if (known) return known;
  const began = performance.now();
  const result = await make();
  const tookMs = performance.now() - began;
  return memory.remember(result.lengths ? keyIn(result.lengths) : key, async () => result, tookMs);
}

/** Runs an analysis, and says in its result whether its sentences give lengths: only those depend on the unit. */
export async function runAnalysis<Options>(
  analysis: Analysis<Options>,
  options: Options,
  lengths: ShownLength,
  context: Omit<AnalysisContext, 'lengths'>,
): Promise<AnalysisResult> {
  let isAsked = false;
  const told = await analysis.run(options, {
    ...context,
    get lengths() {
      isAsked = true;
      return lengths;
    },
  });
  return isAsked ? { ...told, lengths } : told;
}
