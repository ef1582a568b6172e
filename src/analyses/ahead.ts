import type { AnalysisContext } from './analysis.ts';

/**
 * What will be needed later, asked for now where the engine works ahead: it has it ready while something else is
 * estimated. Elsewhere it is asked for when it is wanted, so that no two results of a large herd stand side by side.
 */
export function ahead<T>(
  { engine }: Pick<AnalysisContext, 'engine'>,
  ask: () => Promise<T>,
): () => Promise<T> {
  if (!engine.worksAhead) return ask;
  const asked = ask();
  // Told to whoever wants it; that may be nobody, where another part has failed before.
  asked.catch(() => undefined);
  return () => asked;
}
