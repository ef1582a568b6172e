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
/** In narrower files a note over two lines may well hold as many separators as a row. */
const MIN_WIDTH_TO_TELL = 4;
const MAX_HELD = 1 << 21;

function parse(text: string, delimiter: string, preview = 0): Parsed {
  const parser = new Papa.Parser({ delimiter, newline: '\n', quoteChar: '"', preview });
  return parser.parse(text, 0, true) as Parsed;
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
    this.held = this.consume(this.held + text);
    while (this.held.length > MAX_HELD) this.held = this.consume(this.cutLine(this.held));
  }

  end(): void {
    if (this.held && !this.held.endsWith('\n')) this.held = this.consume(`${this.held}\n`);
    // What a closed last line leaves is a quotation mark that never closes.
    while (this.held) this.held = this.consume(this.cutLine(this.held));
  }

  /** Emits all whole records; returns what is left. */
  private consume(input: string): string {
    let text = input;
    for (;;) {
      const parsed = parse(text, this.delimiter);
      // As many line ends as records: no cell runs over a line, and nothing need be looked at cell by cell.
      const multiline = lineBreaks([text.slice(0, parsed.meta.cursor)]) !== parsed.data.length;
      this.width ||= parsed.data.find((cells) => cells.some((cell) => cell.trim() !== ''))?.length ?? 0;
      const swallower = multiline ? this.swallower(parsed) : -1;
      const whole = swallower === -1 ? parsed.data : parsed.data.slice(0, swallower);
      for (const cells of whole) {
        this.emit({ cells, line: this.line, stray: false });
        this.line += 1 + (multiline ? lineBreaks(cells) : 0);
      }
      if (swallower === -1) return text.slice(parsed.meta.cursor);
      const start = swallower === 0 ? 0 : parse(text, this.delimiter, swallower).meta.cursor;
      text = this.cutLine(text.slice(start));
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
