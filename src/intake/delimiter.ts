import { RecordReader } from './records.ts';

const DELIMITERS = [',', ';', '\t', '|'] as const;

export interface DelimiterEvidence {
  readonly delimiter: string;
  readonly why: string;
}

const NAMES: Record<string, string> = { ',': 'comma', ';': 'semicolon', '\t': 'tab', '|': 'bar' };

export function delimiterName(delimiter: string): string {
  return NAMES[delimiter] ?? `'${delimiter}'`;
}

/** The separator that a first line `sep=;` states; null without one. */
export function statedDelimiter(firstLine: string): string | null {
  return /^"?sep=(.)"?$/i.exec(firstLine.trimEnd() === 'sep=' ? 'sep=\t' : firstLine)?.[1] ?? null;
}

/**
 * The separator under which most records have as many cells as the header. Own scoring, as papaparse's guess
 * weighs only the spread of cell counts and cannot say why.
 */
export function detectDelimiter(sample: string): DelimiterEvidence {
  let best = { delimiter: ',', cells: 1, share: 0 };
  for (const delimiter of DELIMITERS) {
    const counts: number[] = [];
    const reader = new RecordReader(delimiter, ({ cells }) => {
      if (cells.length > 1 || cells[0]?.trim()) counts.push(cells.length);
    });
    reader.push(sample);
    if (counts.length < 2) reader.end(); // the sample's last line may be cut; used only where there is little else
    const header = counts[0] ?? 1;
    const alike = counts.filter((count) => count === header).length;
    const share = header > 1 ? alike / counts.length : 0;
    if (share > best.share || (share === best.share && share > 0 && header > best.cells)) {
      best = { delimiter, cells: header, share };
    }
  }
  if (best.share === 0) return { delimiter: ',', why: 'only one column was found' };
  const percent = Math.round(best.share * 100);
  return {
    delimiter: best.delimiter,
    why: `a ${delimiterName(best.delimiter)} gives ${best.cells} cells in ${percent} % of the rows looked at`,
  };
}
