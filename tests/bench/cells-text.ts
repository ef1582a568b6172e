import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { figure, markdownTable } from './words.ts';

/** How many cells each analysis takes out of the engine for a row of the record. */
export type CellsRead = Readonly<Record<string, number>>;

const FILE = 'docs/cells-read.json';
const CELL_BYTES = 8;

export function readCellsRead(): CellsRead | null {
  return existsSync(FILE) ? (JSON.parse(readFileSync(FILE, 'utf8')) as CellsRead) : null;
}

export function keepCellsRead(cells: CellsRead): void {
  writeFileSync(FILE, `${JSON.stringify(cells, null, 2)}\n`);
}

/** As Markdown, least first, with the memory that so many cells of so many rows take. */
export function cellsReadText(cells: CellsRead): string {
  const rows = Object.entries(cells).sort(([, a], [, b]) => a - b);
  return markdownTable(
    ['analysis', 'cells a foot row', '1 million rows, MB', '50 million rows, GB'],
    rows.map(([name, each]) => [
      name,
      figure(each),
      figure(each * CELL_BYTES),
      figure((each * CELL_BYTES * 50) / 1000),
    ]),
  );
}
