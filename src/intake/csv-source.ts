import { type DelimiterEvidence, detectDelimiter, statedDelimiter } from './delimiter.ts';
import { detectEncoding, type EncodingEvidence, textPieces } from './encoding.ts';
import { IrregularQuoting, type LineSink, PlainLines } from './plain-lines.ts';
import { type RawRecord, RecordReader } from './records.ts';
import { IntakeRefusal } from './refusal.ts';
import { looksLikeRow } from './row-for-header.ts';
import {
  type BrokenRow,
  breathe,
  ColumnCollector,
  IntList,
  type OpenOptions,
  type Source,
} from './source.ts';
import { titleLines } from './title-lines.ts';

const SAMPLE_CHARACTERS = 65_536;

/** Reads a delimited file (RFC 4180, and its common departures). Throws `IntakeRefusal`. */
export async function openDelimited(
  file: string,
  bytes: Uint8Array,
  options: OpenOptions = {},
): Promise<Source> {
  const encoding = detectEncoding(bytes);
  try {
    return await collected(file, bytes, encoding, options, quickly);
  } catch (error) {
    if (!(error instanceof IrregularQuoting)) throw error;
    return collected(file, bytes, encoding, options, carefully);
  }
}

/** The two ways through a text: the same rows from either. */
type Way = (rows: RowCollector, dialect: Dialect) => { push(text: string): void; end(): void };

/** For files whose quoting is regular throughout. */
export const quickly: Way = (rows, { delimiter, skippedLines }) =>
  new PlainLines(delimiter.delimiter, rows.sink(skippedLines));

/** For any file: stray quotation marks cost as few lines as can be. */
export const carefully: Way = (rows, { delimiter, skippedLines }) =>
  new RecordReader(delimiter.delimiter, (record) => rows.take(record, skippedLines));

/** Reads the text one way. */
export async function collected(
  file: string,
  bytes: Uint8Array,
  encoding: EncodingEvidence,
  options: OpenOptions,
  way: Way,
): Promise<Source> {
  let dialect: Dialect | null = null;
  let reader: ReturnType<Way> | null = null;
  const rows = new RowCollector(file);
  for (const piece of textPieces(bytes, encoding.encoding)) {
    let { text } = piece;
    if (!reader) {
      dialect = dialectOf(text);
      reader = way(rows, dialect);
      text = text.slice(dialect.skippedCharacters);
    }
    reader.push(text);
    options.progress?.(piece.bytesRead / bytes.length);
    await breathe(options.signal);
  }
  reader?.end();
  return rows.done(encoding, dialect);
}

interface Dialect {
  readonly delimiter: DelimiterEvidence;
  readonly titles: readonly string[];
  readonly skippedLines: number;
  readonly skippedCharacters: number;
}

/** Looks at the first piece: a line that states the separator, lines above the header, the separator itself. */
function dialectOf(text: string): Dialect {
  const end = text.indexOf('\n');
  const firstLine = end === -1 ? text : text.slice(0, end);
  const stated = statedDelimiter(firstLine);
  const stating = stated ? firstLine.length + 1 : 0;
  const titles = titleLines(text.slice(stating));
  const skippedCharacters = titles.reduce((sum, line) => sum + line.length + 1, stating);
  const delimiter = stated
    ? { delimiter: stated, why: 'the first line says so' }
    : detectDelimiter(text.slice(skippedCharacters, skippedCharacters + SAMPLE_CHARACTERS));
  return { delimiter, titles, skippedLines: titles.length + (stated ? 1 : 0), skippedCharacters };
}

/** First record with content is the header, unless it looks like a row; the others go to columns, or are broken. */
class RowCollector {
  private names: string[] | null = null;
  private hasHeader = true;
  private columns: ColumnCollector[] = [];
  private readonly lines = new IntList();
  private readonly broken = new Map<number, BrokenRow>();
  private readonly file: string;

  constructor(file: string) {
    this.file = file;
  }

  take({ cells, line, stray }: RawRecord, skippedLines: number): void {
    if (cells.every((cell) => cell.trim() === '')) return;
    if (!this.names) {
      this.hasHeader = stray || !looksLikeRow(cells);
      this.names = this.hasHeader ? headerNames(this.file, cells) : cells.map((_, i) => `column ${i + 1}`);
      this.columns = this.names.map(() => new ColumnCollector());
      if (this.hasHeader) return;
    }
    const reason = stray
      ? 'a quotation mark opens in this line and never closes'
      : widthFault(cells, this.names.length, this.hasHeader ? 'the header' : 'the first row');
    if (reason) this.broken.set(this.lines.length, { cells, reason, stray });
    this.lines.push(line + skippedLines);
    this.columns.forEach((column, i) => {
      column.push(reason ? '' : (cells[i] ?? ''));
    });
  }

  /** Rows as the quick way hands them on: whole cells, or a line of the right width to take apart. */
  sink(skippedLines: number): LineSink {
    return {
      width: () => this.names?.length ?? 0,
      record: (cells, line) => this.take({ cells, line, stray: false }, skippedLines),
      plain: (text, from, ends, hashes, line) => {
        this.lines.push(line + skippedLines);
        let start = from;
        for (let k = 0; k < this.columns.length; k++) {
          const end = ends[k] as number;
          (this.columns[k] as ColumnCollector).pushSlice(text, start, end, hashes[k] as number);
          start = end + 1;
        }
      },
    };
  }

  done(encoding: Source['encoding'], dialect: Dialect | null): Source {
    const names = this.names;
    if (!names) throw new IntakeRefusal(this.file, 'empty', `${this.file} is empty.`);
    if (this.lines.length === 0) {
      throw new IntakeRefusal(this.file, 'no-rows', `${this.file} has a header but no rows below it.`);
    }
    return {
      file: this.file,
      format: 'delimited',
      encoding,
      delimiter: dialect?.delimiter ?? null,
      hasHeader: this.hasHeader,
      titles: dialect?.titles.filter((line) => line.trim() !== '') ?? [],
      columns: this.columns.map((column, i) => column.done(names[i] as string, 'text')),
      rowCount: this.lines.length,
      lines: this.lines.done(),
      broken: this.broken,
    };
  }
}

/** Extra cells that are all blank (a trailing separator) do no harm. */
function widthFault(cells: readonly string[], width: number, where: string): string | null {
  if (cells.length < width) return `too few cells: ${cells.length} where ${where} has ${width}`;
  return cells.slice(width).some((cell) => cell.trim() !== '')
    ? `too many cells: ${cells.length} where ${where} has ${width}`
    : null;
}

/** Names as they stand; nameless columns get one. Throws `IntakeRefusal` where two are the same. */
export function headerNames(file: string, cells: readonly string[]): string[] {
  const seen = new Map<string, number>();
  return cells.map((cell, i) => {
    const name = cell.trim().replace(/\s+/g, ' ');
    if (name === '') return `(column ${i + 1}, no name)`;
    const earlier = seen.get(name.toLowerCase());
    if (earlier !== undefined) {
      throw new IntakeRefusal(
        file,
        'same-name-columns',
        `${file} has two columns named “${name}” (columns ${earlier + 1} and ${i + 1}); rename one of them.`,
      );
    }
    seen.set(name.toLowerCase(), i);
    return name;
  });
}
