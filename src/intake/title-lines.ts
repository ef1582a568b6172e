import { detectDelimiter } from './delimiter.ts';
import { headerMatches } from './header-match.ts';

const LINES_LOOKED_AT = 10;
const SAMPLE_CHARACTERS = 8192;
/** A title may by chance hold one word of the record; a header holds at least these. */
const MATCHES_OF_A_HEADER = 2;

/**
 * The lines above the header that name no column (a title, the date of the export); none where the first line
 * names one, or where no line near the top looks like a header.
 */
export function titleLines(text: string): string[] {
  const lines = text.slice(0, SAMPLE_CHARACTERS).split('\n');
  if (namedColumns(lines, 0) > 0) return [];
  for (let at = 1; at < Math.min(LINES_LOOKED_AT, lines.length); at++) {
    if (namedColumns(lines, at) >= MATCHES_OF_A_HEADER) return lines.slice(0, at);
  }
  return [];
}

/** How many cells of a line are headers that the record knows. */
function namedColumns(lines: readonly string[], at: number): number {
  const line = lines[at] ?? '';
  if (line.trim() === '') return 0;
  const { delimiter } = detectDelimiter(`${lines.slice(at).join('\n')}\n`);
  return line.split(delimiter).filter((cell) => headerMatches(cell).length > 0).length;
}

/** What is said in such lines, for people: without the separators and the lines that hold nothing else. */
export function titleWords(lines: readonly string[]): string {
  return lines
    .map((line) => line.replace(/^[\s,;|"]+|[\s,;|"]+$/g, ''))
    .filter((line) => line !== '')
    .join(' / ');
}
