import { type DelimiterEvidence, detectDelimiter, statedDelimiter } from './delimiter.ts';
import { titleLines } from './title-lines.ts';

const SAMPLE_CHARACTERS = 65_536;

export interface Dialect {
  readonly delimiter: DelimiterEvidence;
  readonly titles: readonly string[];
  readonly skippedLines: number;
  readonly skippedCharacters: number;
}

/** Looks at the first piece: a line that states the separator, lines above the header, the separator itself. */
export function dialectOf(text: string): Dialect {
  const end = text.indexOf('\n');
  const firstLine = end === -1 ? text : text.slice(0, end);
  const stated = statedDelimiter(firstLine);
  const stating = stated ? firstLine.length + 1 : 0;
  const titles = titleLines(text.slice(stating));
  const skippedCharacters = titles.reduce((sum, line) => sum + line.length + 1, stating);
  const delimiter = stated
    ? { delimiter: stated, why: 'the first line says so' }
    : detectDelimiter(text.slice(skippedCharacters, skippedCharacters + SAMPLE_CHARACTERS));
  return { delimiter, titles, skippedLines: titles.length + (stated ? 1 : 0), skippedCharacters };
}
