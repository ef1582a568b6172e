import Papa from 'papaparse';
import { type TextBytes, textBytes } from './distinct-texts.ts';
import type { Decode } from './encoding.ts';
import { holdsWholeRow } from './records.ts';

/**
 * Lines taken apart: cell `k` of row `r` is the bytes after `stops[i]` up to `stops[i + 1]`, at i = r · stride + k. One that
 * begins with a quotation mark ends with one, and is what stands between them, where two of them stand for one.
 */
export interface PlainRows {
  readonly text: TextBytes;
  readonly decode: Decode;
  readonly stride: number;
  readonly count: number;
  readonly stops: Int32Array;
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

export const QUOTE = 34;
const NEWLINE = 10;
const RETURN = 13;
const MOST_LINES = 50;

// Four bytes are looked at together, as in H. S. Warren, Hacker's Delight, 2nd ed., chapter 6-1. Of bytes below 14 (line ends
// are) or like another, a highest bit is left; the lowest such bit is surely right, which will do to tell that there is one.
const EACH = 0x01010101;
const FOURTEENS = 0x0e0e0e0e;
const QUOTES = QUOTE * EACH;
const HIGHEST = 0x80808080 | 0;
const LOWER = 0x7f7f7f7f;
/** Moves the highest bits of four bytes side by side, into the topmost four. */
const GATHER = 0x10204080;
/** By which of four bytes are separators: the place of the first, second and third in two bits each, and how many there are. */
const PLACES = Uint16Array.from({ length: 16 }, (_, which) => {
  const places = [0, 1, 2, 3].filter((place) => which & (1 << place));
  return places.slice(0, 3).reduce((all, place, k) => all | (place << (2 * k)), places.length << 6);
});
/** Wider lines are taken apart the other way. */
const WIDEST = 4096;
/** Cells handed on together, column by column: so many that they and their places stay in the processor's cache. */
const CELLS_AT_ONCE = 4096;
/** Bytes that may begin what `trim` takes away, in UTF-8 or Windows-1252 (U+00A0, U+1680, U+2000 on, U+3000, U+FEFF). */
const BEGINS_WHITE = Uint8Array.from({ length: 256 }, (_, byte) =>
  byte <= 32 || [0xa0, 0xc2, 0xe1, 0xe2, 0xe3, 0xef].includes(byte) ? 1 : 0,
);

/**
 * The quick way through a delimited text in an encoding that keeps ASCII: of a line whose quoted cells hold no line ends
 * only the separators are looked for, and no string is made; the others are parsed by
 * papaparse, one record at a time. Gives up (`IrregularQuoting`) where a record with quotes is not one well-formed record.
 */
export class PlainLines {
  private line = 1;
  /** Rows taken apart and not yet handed on. */
  private rows = 0;
  /** Places of each row among the stops, and how many rows are handed on together. */
  private stride = 1;
  private together = 1;
  /** Cells of the line just taken apart. */
  private cells = 0;
  private hasQuotes = false;
  private readonly stops = new Int32Array(CELLS_AT_ONCE + WIDEST + 8);
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
      if (this.rows === 0) {
        this.stride = width + 1;
        this.together = Math.max(1, Math.floor(CELLS_AT_ONCE / this.stride));
      }
      const end = this.takeApart(start);
      if (end !== -1 && this.cells === width && width <= WIDEST && this.isFilled()) {
        this.lines[this.rows++] = this.line++;
        if (this.rows === this.together) this.handOn();
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
    const { text, decode, stride, stops, lines, rows: count } = this;
    this.rows = 0;
    this.sink.plain({ text, decode, stride, count, stops, lines });
  }

  /** Finds the cells of the line that starts at `start`: where it ends, or −1 where papaparse must tell. */
  private takeApart(start: number): number {
    this.hasQuotes = false;
    const end = this.withoutQuotes(start);
    if (end !== -1) return end;
    this.hasQuotes = true;
    return this.withQuotes(start);
  }

  /** The same of a line without any quotation mark; −1 where there is one. */
  private withoutQuotes(start: number): number {
    const { bytes, stops } = this;
    const { view } = this.text;
    const separator = this.delimiter.charCodeAt(0);
    const separators = Math.imul(separator, EACH);
    const { length } = bytes;
    const lastFour = length - 4;
    const first = this.rows * this.stride;
    const most = first + WIDEST + 1;
    let stop = first;
    stops[stop++] = start - 1;
    let at = start;
    for (;;) {
      // Four bytes at a time, and no question asked of them but whether the line may end there: cells are short, and a guess
      // which byte ends one is mostly wrong.
      while (at <= lastFour && stop < most) {
        const four = view.getInt32(at, true);
        const unquoted = four ^ QUOTES;
        if ((((four - FOURTEENS) & ~four) | ((unquoted - EACH) & ~unquoted)) & HIGHEST) break;
        const unlike = four ^ separators;
        const found = ~(((unlike & LOWER) + LOWER) | unlike | LOWER);
        const which = Math.imul(found >>> 7, GATHER) >>> 28;
        const places = PLACES[which] as number;
        stops[stop] = at + (places & 3);
        stops[stop + 1] = at + ((places >> 2) & 3);
        stops[stop + 2] = at + ((places >> 4) & 3);
        stops[stop + 3] = at + 3;
        stop += places >> 6;
        at += 4;
      }
      const byte = at < length ? (bytes[at] as number) : NEWLINE;
      if (byte === separator) {
        if (stop < most) stops[stop] = at;
        stop++;
      } else if (byte === NEWLINE || byte === RETURN) break;
      else if (byte === QUOTE) return -1;
      at++;
    }
    if (stop < most) stops[stop] = at;
    this.cells = stop - first;
    return at;
  }

  /** The same of a line whose cells may be quoted, without line ends in them. */
  private withQuotes(start: number): number {
    const { bytes, stops } = this;
    const separator = this.delimiter.charCodeAt(0);
    const { length } = bytes;
    const first = this.rows * this.stride;
    let stop = first;
    stops[stop++] = start - 1;
    for (let at = start; ; at++) {
      let byte = at < length ? (bytes[at] as number) : NEWLINE;
      if (byte === QUOTE) {
        for (at++; at < length; at++) {
          byte = bytes[at] as number;
          if (byte === NEWLINE || byte === RETURN) return -1;
          if (byte !== QUOTE) continue;
          if (bytes[at + 1] !== QUOTE) break;
          at++;
        }
        if (at >= length) return -1;
        at++;
        byte = at < length ? (bytes[at] as number) : NEWLINE;
        if (byte !== separator && byte !== NEWLINE && byte !== RETURN) return -1;
      } else {
        while (byte !== separator && byte !== NEWLINE && byte !== RETURN)
          byte = ++at < length ? (bytes[at] as number) : NEWLINE;
      }
      if (stop <= first + WIDEST) stops[stop] = at;
      stop++;
      if (byte !== separator) {
        this.cells = stop - first - 1;
        return at;
      }
    }
  }

  /** Is anything but white space in the line's cells? A cell that may begin with some is left to the other way. */
  private isFilled(): boolean {
    const { bytes, stops } = this;
    const first = this.rows * this.stride;
    for (let k = first; k < first + this.cells; k++) {
      const from = (stops[k] as number) + 1;
      const isQuoted = bytes[from] === QUOTE && from < (stops[k + 1] as number);
      const [begin, end] = isQuoted
        ? [from + 1, (stops[k + 1] as number) - 1]
        : [from, stops[k + 1] as number];
      if (begin < end && BEGINS_WHITE[bytes[begin] as number] === 0) return true;
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
