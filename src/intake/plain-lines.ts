import Papa from 'papaparse';
import { HASH_OF_NOTHING, hashWith } from './distinct-texts.ts';
import { holdsWholeRow } from './records.ts';

/** What becomes of a file's lines, in order. `line` is the physical line, from 1. */
export interface LineSink {
  /** How many cells a row must have; 0 while the header is still to come. */
  width(): number;
  /** A row of the right width in which no cell is quoted: cell k is `text` up to `ends[k]`, hashed to `hashes[k]`. */
  plain(text: string, from: number, ends: Int32Array, hashes: Int32Array, line: number): void;
  /** Any other record. */
  record(cells: string[], line: number): void;
}

/** Thrown where quoting is not regular: the careful reader must read the file from its start. */
export class IrregularQuoting extends Error {}

const QUOTE = 34;
const NEWLINE = 10;
const MOST_LINES = 50;
/** Wider lines are taken apart the other way. */
const WIDEST = 4096;

/**
 * The quick way through a delimited text that arrives in pieces, every line end a `\n`: a line without quoted cells is
 * only looked over for its separators, and left to the sink to take apart; the others are parsed by papaparse, one
 * record at a time. Gives up (`IrregularQuoting`) where a record with quotes is not one well-formed record.
 */
export class PlainLines {
  private held = '';
  private line = 1;
  private readonly ends = new Int32Array(WIDEST);
  private readonly hashes = new Int32Array(WIDEST);
  private readonly delimiter: string;
  private readonly sink: LineSink;

  constructor(delimiter: string, sink: LineSink) {
    this.delimiter = delimiter;
    this.sink = sink;
  }

  push(text: string): void {
    this.held = this.consume(this.held === '' ? text : this.held + text);
  }

  end(): void {
    if (this.held === '') return;
    if (this.consume(`${this.held}\n`) !== '') throw new IrregularQuoting('a quotation mark never closes');
    this.held = '';
  }

  /** Hands on all whole records; what is left. */
  private consume(text: string): string {
    const { sink, ends, hashes } = this;
    const separator = this.delimiter.charCodeAt(0);
    const { length } = text;
    let start = 0;
    for (;;) {
      let at = start;
      let cells = 0;
      let opensQuoted = text.charCodeAt(at) === QUOTE;
      let hash = HASH_OF_NOTHING;
      for (; at < length; at++) {
        const code = text.charCodeAt(at);
        if (code === separator) {
          ends[cells] = at;
          hashes[cells] = hash;
          cells++;
          hash = HASH_OF_NOTHING;
          if (text.charCodeAt(at + 1) === QUOTE) opensQuoted = true;
        } else if (code === NEWLINE) break;
        else hash = hashWith(hash, code);
      }
      if (at >= length) return text.slice(start);
      if (opensQuoted) {
        const end = recordEnd(text, start);
        if (end === -1) return text.slice(start);
        this.quoted(text.slice(start, end + 1));
        start = end + 1;
        continue;
      }
      ends[cells] = at;
      hashes[cells] = hash;
      // A line that may be blank is looked at more closely.
      const first = text.charCodeAt(start);
      if (cells + 1 === sink.width() && cells < WIDEST && first > 32 && first !== separator) {
        sink.plain(text, start, ends, hashes, this.line);
      } else sink.record(text.slice(start, at).split(this.delimiter), this.line);
      this.line++;
      start = at + 1;
    }
  }

  private quoted(text: string): void {
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
  }
}

/** Where the record that starts at `start` ends: at a line end with all quotation marks closed. -1 if not yet there. */
function recordEnd(text: string, start: number): number {
  let open = false;
  let lines = 0;
  for (let at = start; at < text.length; at++) {
    const code = text.charCodeAt(at);
    if (code === QUOTE) open = !open;
    else if (code === NEWLINE) {
      if (!open) return at;
      if (++lines > MOST_LINES) throw new IrregularQuoting('a cell over too many lines');
    }
  }
  return -1;
}
