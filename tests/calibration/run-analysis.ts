import type { AnalysisResult, ResultTable } from '../../src/analyses/analysis.ts';
import { analysisNamed } from '../../src/analyses/index.ts';
import type { CivilDay } from '../../src/core/civil-day.ts';
import { numbers, type Table, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import type { Interval } from './measured.ts';

export async function runAnalysis(engine: Engine, name: string, options: object): Promise<AnalysisResult> {
  const analysis = analysisNamed(name);
  return analysis.run(analysis.options.parse(options), {
    engine,
    today: 20_773 as CivilDay,
    lengths: 'mm',
    signal: new AbortController().signal,
    progress: () => undefined,
  });
}

/** Looks up the tidy estimates by term and level (without the name of its grouping); null where there is none. */
export function estimatesOf(
  tables: readonly ResultTable[],
): (term: string, level: string) => Interval | null {
  const { table } = tables[0]!;
  const levels = texts(table, 'level').map((level) => level?.split(': ').at(-1));
  const terms = texts(table, 'term');
  return (term, level) => {
    const row = terms.findIndex((t, i) => t === term && levels[i] === level);
    return row < 0 ? null : intervalAt(table, row, numbers(table, 'std_error')[row]!);
  };
}

/** Null where the table holds an estimate without an interval. */
export function intervalAt(table: Table, row: number, stdError: number): Interval | null {
  const at = (name: string) => numbers(table, name)[row]!;
  const [estimate, low, high] = [at('estimate'), at('conf_low'), at('conf_high')];
  return Number.isNaN(low) || Number.isNaN(high) ? null : { estimate, stdError, low, high };
}
