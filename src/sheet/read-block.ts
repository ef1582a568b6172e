/**
 * Cells of a pasted block: tab-separated, as spreadsheets copy it. A cell with a tab, a line break or a quotation mark
 * may stand in quotation marks with those inside doubled. Rows may differ in length; a last line end makes no row.
 */
export function readBlock(text: string): string[][] {
  const rows: string[][] = [];
  let row: string[] = [];
  let at = 0;
  while (at < text.length) {
    const { cell, end } = cellFrom(text, at);
    row.push(cell);
    at = end;
    if (text[at] === '\t') {
      at += 1;
      if (at < text.length) continue;
      row.push('');
    }
    rows.push(row);
    row = [];
    at += text.startsWith('\r\n', at) ? 2 : 1;
  }
  return rows;
}

/** An inch mark inside a cell is no quotation: only a mark at its start that closes at its end is. */
const QUOTED = /"((?:[^"]|"")*)"(?=\t|\r?\n|\r|$)/y;
const PLAIN = /[^\t\r\n]*/y;

function cellFrom(text: string, at: number): { readonly cell: string; readonly end: number } {
  QUOTED.lastIndex = at;
  const quoted = QUOTED.exec(text);
  if (quoted) return { cell: quoted[1]!.replaceAll('""', '"'), end: QUOTED.lastIndex };
  PLAIN.lastIndex = at;
  return { cell: PLAIN.exec(text)![0], end: PLAIN.lastIndex };
}
