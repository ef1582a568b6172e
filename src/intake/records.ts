import Papa from 'papaparse';

/** One record of a delimited file. `stray` marks a line cut off because a quotation mark in it never closes. */
export interface RawRecord {
  readonly cells: string[];
  /** Physical line it starts on, from 1. */
  readonly line: number;
  readonly stray: boolean;
}

interface Parsed {
  readonly data: string[][];
  readonly errors: readonly { readonly row: number }[];
  readonly meta: { readonly cursor: number };
}

/** A quoted cell longer than this has almost surely swallowed rows through a stray quotation mark. */
const MAX_CELL_LINES = 50;
const FEW_LINES = 4;
/** In narrower files a note over two lines may well hold as many separators as a row. */
const MIN_WIDTH_TO_TELL = 4;
const MAX_HELD = 1 << 21;

function parse(text: string, delimiter: string, preview = 0): Parsed {
  const parser = new Papa.Parser({ delimiter, newline: '\n', quoteChar: '"', preview });
  return parser.parse(text, 0, true) as Parsed;
}

/** Has quoting gone wrong in the record that is open at the end, however it may go on? */
function isLost(open: string, { data, errors }: Parsed): boolean {
  return (
    lineBreaks([open]) > MAX_CELL_LINES ||
    (errors.some((error) => error.row === data.length) && open.includes('\n'))
  );
}

/** The first lines of a text, with their ends; all of it where it has no more. */
function firstLines(text: string, lines: number): string {
  if (lines === Number.POSITIVE_INFINITY) return text;
  let at = -1;
  for (let k = 0; k < lines; k++) {
    at = text.indexOf('\n', at + 1);
    if (at === -1) return text;
  }
  return text.slice(0, at + 1);
}

function lineBreaks(cells: readonly string[]): number {
  let count = 0;
  for (const cell of cells) {
    for (let at = cell.indexOf('\n'); at !== -1; at = cell.indexOf('\n', at + 1)) count++;
  }
  return count;
}

/**
 * Records of a delimited text that arrives in pieces (RFC 4180 through papaparse). papaparse's own streamers want
 * the whole text as one string or a browser `File`; its parser, fed piece by piece, holds one piece at a time.
 */
export class RecordReader {
  private held = '';
  private hasLineEnd = false;
  private line = 1;
  /** Cells of the header; 0 before it. */
  private width = 0;
  private readonly delimiter: string;
  private readonly emit: (record: RawRecord) => void;

  constructor(delimiter: string, emit: (record: RawRecord) => void) {
    this.delimiter = delimiter;
    this.emit = emit;
  }

  push(text: string): void {
    const before = this.held;
    this.held += text;
    // A line is held whole, however long: a piece of it would be counted as a line. Without its end there is no record.
    this.hasLineEnd = (before !== '' && this.hasLineEnd) || text.includes('\n');
    if (!this.hasLineEnd) return;
    this.held = this.consume(this.held);
    while (this.held.length > MAX_HELD && this.held.includes('\n'))
      this.held = this.consume(this.cutLine(this.held));
    this.hasLineEnd = this.held.includes('\n');
  }

  end(): void {
    if (this.held && !this.held.endsWith('\n')) this.held = this.consume(`${this.held}\n`);
    // What a closed last line leaves is a quotation mark that never closes.
    while (this.held) this.held = this.consume(this.cutLine(this.held));
  }

  /**
   * Emits all whole records; returns what is left. Where quoting goes wrong only few lines are looked at next, and
   * more again as they turn out well: else each of many stray marks would cost a look at all that follows.
   */
  private consume(input: string): string {
    let text = input;
    let lines = Number.POSITIVE_INFINITY;
    for (;;) {
      const some = firstLines(text, lines);
      const parsed = parse(some, this.delimiter);
      // As many line ends as records: no cell runs over a line, and nothing need be looked at cell by cell.
      const multiline = lineBreaks([some.slice(0, parsed.meta.cursor)]) !== parsed.data.length;
      this.width ||= parsed.data.find((cells) => cells.some((cell) => cell.trim() !== ''))?.length ?? 0;
      const swallower = multiline ? this.swallower(parsed) : -1;
      const whole = swallower === -1 ? parsed.data : parsed.data.slice(0, swallower);
      for (const cells of whole) {
        this.emit({ cells, line: this.line, stray: false });
        this.line += 1 + (multiline ? lineBreaks(cells) : 0);
      }
      if (swallower !== -1) {
        const start = swallower === 0 ? 0 : parse(some, this.delimiter, swallower).meta.cursor;
        text = this.cutLine(text.slice(start));
        lines = FEW_LINES;
        continue;
      }
      const open = some.slice(parsed.meta.cursor);
      const toTheEnd = some.length === text.length;
      text = text.slice(parsed.meta.cursor);
      if (isLost(open, parsed)) {
        text = this.cutLine(text);
        lines = FEW_LINES;
      } else if (toTheEnd) return text;
      else lines *= 4;
    }
  }

  /** First record over several lines that quoting has gone wrong in; -1 if none. */
  private swallower({ data, errors }: Parsed): number {
    const faulty = new Set(errors.map((error) => error.row));
    return data.findIndex((cells, i) => {
      const breaks = lineBreaks(cells);
      if (breaks === 0) return false;
      return breaks > MAX_CELL_LINES || faulty.has(i) || holdsWholeRow(cells, this.width, this.delimiter);
    });
  }

  /** Emits the first physical line as it stands, so that one stray mark costs one line. */
  private cutLine(text: string): string {
    const end = text.indexOf('\n');
    const line = end === -1 ? text : text.slice(0, end);
    this.emit({ cells: line.split(this.delimiter), line: this.line, stray: true });
    this.line++;
    return end === -1 ? '' : text.slice(end + 1);
  }
}

/**
 * A cell that closes in the very column it opened in, rows later, leaves a record of the right width. Then its
 * first line holds the separators of the rest of its row, and its last line those of the start of another.
 */
export function holdsWholeRow(cells: readonly string[], width: number, delimiter: string): boolean {
  if (width < MIN_WIDTH_TO_TELL || cells.length !== width) return false;
  const separators = (text = ''): number => text.split(delimiter).length - 1;
  return cells.some((cell, at) => {
    const lines = cell.split('\n');
    return lines.length > 1 && separators(lines[0]) >= width - 1 - at && separators(lines.at(-1)) >= at;
  });
}
