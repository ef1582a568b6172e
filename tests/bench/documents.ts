import { readFileSync, writeFileSync } from 'node:fs';
import { cellsReadText, readCellsRead } from './cells-text.ts';
import { filled } from './filled.ts';
import { folderRecordText, readFolderRecord } from './folder-record.ts';
import { oneTabText } from './one-tab.ts';
import { benchmarksText } from './report.ts';
import { readResults } from './results.ts';

const SCALE = 'docs/scale.md';

/** The documents whose figures were measured, as what is kept of the measurements makes them, by path. */
export function measuredDocuments(): Readonly<Record<string, string>> {
  const results = readResults();
  const record = readFolderRecord();
  const cells = readCellsRead();
  const blocks: Readonly<Record<string, string | null>> = {
    'one tab': oneTabText(results),
    'a folder': record && folderRecordText(record),
    cells: cells && cellsReadText(cells),
  };
  const scale = Object.entries(blocks).reduce(
    (text, [name, made]) => (made === null ? text : withMarked(text, name, made)),
    readFileSync(SCALE, 'utf8'),
  );
  return {
    'docs/benchmarks.md': benchmarksText(
      results,
      filled(readFileSync('tests/bench/not-met.md', 'utf8'), results),
    ),
    [SCALE]: scale,
  };
}

export function writeDocuments(): Readonly<Record<string, string>> {
  const documents = measuredDocuments();
  for (const [path, text] of Object.entries(documents)) writeFileSync(path, text);
  return documents;
}

/** A document with what stands between its marks `<!-- measured: name -->` and `<!-- end -->` replaced. Throws without them. */
export function withMarked(text: string, name: string, made: string): string {
  const begin = `<!-- measured: ${name} -->\n`;
  const from = text.indexOf(begin);
  const to = text.indexOf('<!-- end -->', from);
  if (from < 0 || to < 0) throw new Error(`a document must have a place for what was measured: ${name}`);
  return `${text.slice(0, from + begin.length)}\n${made}\n${text.slice(to)}`;
}
