import Papa from 'papaparse';
import { type TextBytes, textBytes } from './distinct-texts.ts';
import type { Decode } from './encoding.ts';
import { holdsWholeRow } from './records.ts';

/** Lines taken apart: cell `k` of row `r` is the bytes from `starts[i]` to `ends[i]`, at i = k · stride + r. */
export interface PlainRows {
  readonly text: TextBytes;
  readonly decode: Decode;
  readonly stride: number;
  readonly count: number;
  readonly starts: Int32Array;
  readonly ends: Int32Array;
  /** Physical line of each row, from 1. */
  readonly lines: Int32Array;
}

/** What becomes of a file's lines, in order. */
export interface LineSink {
  /** How many cells a row must have; 0 while the header is still to come. */
  width(): number;
  /** Rows of the right width, none of them blank. They are written over by the next ones. */
  plain(rows: PlainRows): void;
  /** Any other record, and its physical line. */
  record(cells: string[], line: number): void;
}

/** Thrown where quoting is not regular: the careful reader must read the file from its start. */
export class IrregularQuoting extends Error {}

const QUOTE = 34;
const NEWLINE = 10;
const RETURN = 13;
const MOST_LINES = 50;
/** Wider lines are taken apart the other way. */
const WIDEST = 4096;
/** Cells handed on together, column by column: so many that they and their places stay in the processor's cache. */
const CELLS_AT_ONCE = 4096;
/** Bytes that may begin what `trim` takes away, in UTF-8 or Windows-1252 (U+00A0, U+1680, U+2000 on, U+3000, U+FEFF). */
const BEGINS_WHITE = Uint8Array.from({ length: 256 }, (_, byte) =>
  byte <= 32 || [0xa0, 0xc2, 0xe1, 0xe2, 0xe3, 0xef].includes(byte) ? 1 : 0,
);

/**
 * The quick way through a delimited text in an encoding that keeps ASCII: of a line whose quoted cells hold neither
 * quotation marks nor line ends only the separators are looked for, and no string is made; the others are parsed by
 * papaparse, one record at a time. Gives up (`IrregularQuoting`) where a record with quotes is not one well-formed record.
 */
export class PlainLines {
  private line = 1;
  /** Rows taken apart and not yet handed on. */
  private rows = 0;
  /** As many rows as are handed on together. */
  private stride = 1;
  /** Cells of the line just taken apart. */
  private cells = 0;
  private hasQuotes = false;
  private readonly starts = new Int32Array(CELLS_AT_ONCE + WIDEST);
  private readonly ends = new Int32Array(CELLS_AT_ONCE + WIDEST);
  private readonly lines = new Int32Array(CELLS_AT_ONCE);
  private readonly bytes: Uint8Array;
  private readonly text: TextBytes;
  private readonly delimiter: string;
  private readonly decode: Decode;
  private readonly sink: LineSink;

  constructor(bytes: Uint8Array, delimiter: string, decode: Decode, sink: LineSink) {
    this.bytes = bytes;
    this.text = textBytes(bytes);
    this.delimiter = delimiter;
    this.decode = decode;
    this.sink = sink;
  }

  /** Hands on the records from byte `from` to the first that begins at or after `until`; where that one begins. */
  read(from: number, until: number): number {
    const { bytes, sink } = this;
    let start = from;
    while (start < until && start < bytes.length) {
      const width = sink.width();
      if (this.rows === 0) this.stride = Math.max(1, Math.floor(CELLS_AT_ONCE / Math.max(width, 1)));
      const end = this.takeApart(start);
      if (end !== -1 && this.cells === width && width <= WIDEST && this.isFilled()) {
        this.lines[this.rows++] = this.line++;
        if (this.rows === this.stride) this.handOn();
        start = afterLineEnd(bytes, end);
        continue;
      }
      this.handOn();
      if (this.hasQuotes) start = this.quoted(start);
      else {
        sink.record(this.decode(start, end).split(this.delimiter), this.line++);
        start = afterLineEnd(bytes, end);
      }
    }
    this.handOn();
    return start;
  }

  private handOn(): void {
    if (this.rows === 0) return;
    const { text, decode, stride, starts, ends, lines, rows: count } = this;
    this.rows = 0;
    this.sink.plain({ text, decode, stride, count, starts, ends, lines });
  }

  /** Finds the cells of the line that starts at `start`: where it ends, or −1 where papaparse must tell. */
  private takeApart(start: number): number {
    const { bytes, starts, ends, stride } = this;
    const separator = this.delimiter.charCodeAt(0);
    // Most bytes of a cell are greater than all that could end it: one look is enough for them.
    const highest = Math.max(separator, RETURN);
    const { length } = bytes;
    this.hasQuotes = false;
    let cells = 0;
    // Cells of one column stand together, as they are read again column by column.
    let cell = this.rows;
    for (let at = start; ; at++) {
      let byte = at < length ? (bytes[at] as number) : NEWLINE;
      if (byte === QUOTE) {
        this.hasQuotes = true;
        starts[cell] = ++at;
        for (; at < length; at++) {
          byte = bytes[at] as number;
          if (byte === QUOTE || byte === NEWLINE || byte === RETURN) break;
        }
        if (at === length || byte !== QUOTE) return -1;
        ends[cell] = at++;
        byte = at < length ? (bytes[at] as number) : NEWLINE;
        if (byte !== separator && byte !== NEWLINE && byte !== RETURN) return -1;
      } else {
        starts[cell] = at;
        while (byte > highest || (byte !== separator && byte !== NEWLINE && byte !== RETURN)) {
          byte = ++at < length ? (bytes[at] as number) : NEWLINE;
        }
        ends[cell] = at;
      }
      cells++;
      cell += stride;
      if (byte !== separator) {
        this.cells = cells;
        return at;
      }
    }
  }

  /** Is anything but white space in the line's cells? A cell that may begin with some is left to the other way. */
  private isFilled(): boolean {
    const { bytes, starts, ends, stride } = this;
    for (let k = 0, cell = this.rows; k < this.cells; k++, cell += stride) {
      const from = starts[cell] as number;
      if (from < (ends[cell] as number) && BEGINS_WHITE[bytes[from] as number] === 0) return true;
    }
    return false;
  }

  private quoted(start: number): number {
    const end = recordEnd(this.bytes, start);
    const text = `${this.decode(start, end).replace(/\r\n?/g, '\n')}\n`;
    const parser = new Papa.Parser({ delimiter: this.delimiter, newline: '\n', quoteChar: '"' });
    const { data, errors } = parser.parse(text, 0, false) as { data: string[][]; errors: unknown[] };
    const rest = data.slice(1).some((cells) => cells.length > 1 || cells[0] !== '');
    const width = this.sink.width();
    const cells = data[0];
    if (!cells || rest || errors.length > 0) throw new IrregularQuoting('more than one record');
    const lines = text.split('\n').length - 1;
    if (lines > 1 && cells.length !== width)
      throw new IrregularQuoting('a record over lines of another width');
    if (lines > 1 && holdsWholeRow(cells, width, this.delimiter))
      throw new IrregularQuoting('a cell may hold a row');
    this.sink.record(cells, this.line);
    this.line += lines;
    return afterLineEnd(this.bytes, end);
  }
}

/** Where the record that starts at `start` ends: at a line end with all quotation marks closed. */
function recordEnd(bytes: Uint8Array, start: number): number {
  let open = false;
  let lines = 0;
  let at = start;
  while (at < bytes.length) {
    const byte = bytes[at];
    if (byte === QUOTE) open = !open;
    else if (byte === NEWLINE || byte === RETURN) {
      if (!open) return at;
      if (++lines > MOST_LINES) throw new IrregularQuoting('a cell over too many lines');
      at = afterLineEnd(bytes, at);
      continue;
    }
    at++;
  }
  if (open) throw new IrregularQuoting('a quotation mark never closes');
  return at;
}

/** The byte after a line end (`\n`, `\r\n` or `\r`) at `at`. */
export function afterLineEnd(bytes: Uint8Array, at: number): number {
  return bytes[at] === RETURN && bytes[at + 1] === NEWLINE ? at + 2 : at + 1;
}
