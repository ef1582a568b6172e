import type { AnalysisResult } from '../../src/analyses/analysis.ts';
import { rowsOf } from '../../src/core/table.ts';

/** What is wrong with a result, in words; empty where all is well. */
export function faults(result: AnalysisResult): string[] {
  const found: string[] = [];
  for (const { name, table } of result.tables) {
    rowsOf(table).forEach((row, i) => {
      const { term, level, estimate, conf_low: low, conf_high: high, std_error: error } = row;
      const place = `${name} row ${i} (${[term, level].filter((v) => v !== undefined).join(', ')})`;
      for (const [column, value] of Object.entries(row)) {
        if (typeof value === 'number' && !Number.isFinite(value))
          found.push(`${place}: ${column} is ${value}`);
      }
      if (typeof error === 'number' && error < 0) found.push(`${place}: a standard error of ${error}`);
      if (typeof estimate !== 'number') return;
      const slack = 1e-9 * (1 + Math.abs(estimate));
      if (typeof low === 'number' && low > estimate + slack)
        found.push(`${place}: ${estimate} lies below ${low}`);
      if (typeof high === 'number' && high < estimate - slack)
        found.push(`${place}: ${estimate} lies above ${high}`);
    });
  }
  const sentences = [
    ...result.findings.map((f) => f.sentence),
    ...result.unavailable.map((u) => u.sentence),
    ...result.assumes,
  ];
  for (const sentence of sentences) {
    if (!/^\P{Ll}.*[.…]$/su.test(sentence)) found.push(`no sentence: ${sentence}`);
    if (/NaN|Infinity|∞|undefined|null\b/.test(sentence)) found.push(`no plain words: ${sentence}`);
  }
  const silent = result.tables.every(({ table }) => table.rowCount === 0) && result.unavailable.length === 0;
  if (silent && result.findings.length === 0) found.push('neither a number nor a sentence');
  return found;
}
