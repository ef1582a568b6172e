import { pacer } from '../core/pacing.ts';
import { type Dialect, dialectOf } from './dialect.ts';
import {
  asUtf8,
  type Decode,
  decoderOf,
  detectEncoding,
  type EncodingEvidence,
  markedEncoding,
  NOT_UTF8,
  NotUtf8,
  READS_AS_UTF8,
  textPieces,
} from './encoding.ts';
import { afterLineEnd, IrregularQuoting, PlainLines } from './plain-lines.ts';
import { RecordReader } from './records.ts';
import { RowCollector } from './row-collector.ts';
import type { OpenOptions, Source } from './source.ts';

const PIECE_BYTES = 1 << 20;

/** Reads a delimited file (RFC 4180, and its common departures). Throws `IntakeRefusal`. */
export async function openDelimited(
  file: string,
  bytes: Uint8Array,
  options: OpenOptions = {},
): Promise<Source> {
  try {
    return await quickly(file, bytes, options);
  } catch (error) {
    if (!(error instanceof IrregularQuoting)) throw error;
    return carefully(file, bytes, options);
  }
}

/** For files whose quoting is regular throughout: throws `IrregularQuoting` for others. */
export async function quickly(
  file: string,
  bytes: Uint8Array,
  options: OpenOptions = {},
  pieceBytes = PIECE_BYTES,
): Promise<Source> {
  const pause = pacer(options.signal);
  const read = (text: Uint8Array, decode: Decode, encoding: EncodingEvidence): Promise<Source> =>
    byBytes({ file, bytes: text, decode, encoding, options, pieceBytes });
  const marked = markedEncoding(bytes);
  if (marked) {
    const text =
      marked.encoding === 'utf-8' ? bytes.subarray(3) : await asUtf8(bytes, marked.encoding, pause);
    return read(text, decoderOf(text, 'utf-8', false), marked);
  }
  try {
    // Every byte but separators and line ends is decoded in some cell: where all of them are UTF-8, the file is.
    return await read(bytes, decoderOf(bytes, 'utf-8', true), READS_AS_UTF8);
  } catch (error) {
    if (!(error instanceof NotUtf8)) throw error;
    return read(bytes, decoderOf(bytes, 'windows-1252', false), NOT_UTF8);
  }
}

interface Text {
  readonly file: string;
  /** In UTF-8 or Windows-1252. */
  readonly bytes: Uint8Array;
  readonly decode: Decode;
  readonly encoding: EncodingEvidence;
  readonly options: OpenOptions;
  readonly pieceBytes: number;
}

async function byBytes({ file, bytes, decode, encoding, options, pieceBytes }: Text): Promise<Source> {
  const pause = pacer(options.signal);
  const beginning = textPieces(bytes, encoding.encoding === 'windows-1252' ? 'windows-1252' : 'utf-8').next();
  const dialect = dialectOf(beginning.value?.text ?? '');
  const { delimiter } = dialect.delimiter;
  if (delimiter.charCodeAt(0) > 127) throw new IrregularQuoting('the separator must be of one byte');
  let at = 0;
  for (let line = 0; line < dialect.skippedLines; line++) at = nextLine(bytes, at);
  decode(0, at);
  const rows = new RowCollector(file);
  const lines = new PlainLines(bytes, delimiter, decode, rows.sink(dialect.skippedLines));
  while (at < bytes.length) {
    at = lines.read(at, at + pieceBytes);
    options.progress?.(Math.min(at / bytes.length, 1));
    await pause();
  }
  return rows.done(encoding, dialect);
}

function nextLine(bytes: Uint8Array, from: number): number {
  let at = from;
  while (at < bytes.length && bytes[at] !== 10 && bytes[at] !== 13) at++;
  return afterLineEnd(bytes, at);
}

/** For any file: stray quotation marks cost as few lines as can be. */
export async function carefully(file: string, bytes: Uint8Array, options: OpenOptions = {}): Promise<Source> {
  const pause = pacer(options.signal);
  const encoding = detectEncoding(bytes);
  const rows = new RowCollector(file);
  let dialect: Dialect | null = null;
  let reader: RecordReader | null = null;
  for (const { text, bytesRead } of textPieces(bytes, encoding.encoding)) {
    if (reader) reader.push(text);
    else {
      const found = dialectOf(text);
      dialect = found;
      reader = new RecordReader(found.delimiter.delimiter, (record) => rows.take(record, found.skippedLines));
      reader.push(text.slice(found.skippedCharacters));
    }
    options.progress?.(bytesRead / bytes.length);
    await pause();
  }
  reader?.end();
  return rows.done(encoding, dialect);
}
