import { utf16Order } from './sniff.ts';

type Encoding = 'utf-8' | 'utf-16le' | 'utf-16be' | 'windows-1252';

export interface EncodingEvidence {
  readonly encoding: Encoding;
  readonly why: string;
}

const PIECE_BYTES = 1 << 20;

/** What a byte-order mark says, or every second byte; null without either. */
export function markedEncoding(bytes: Uint8Array): EncodingEvidence | null {
  if (bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf) {
    return { encoding: 'utf-8', why: 'byte-order mark' };
  }
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return { encoding: 'utf-16le', why: 'byte-order mark' };
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return { encoding: 'utf-16be', why: 'byte-order mark' };
  const unmarked = utf16Order(bytes.subarray(0, 65_536));
  return unmarked && { encoding: unmarked, why: 'every second byte is zero' };
}

export const READS_AS_UTF8: EncodingEvidence = { encoding: 'utf-8', why: 'the whole file reads as UTF-8' };
export const NOT_UTF8: EncodingEvidence = { encoding: 'windows-1252', why: 'some bytes are not UTF-8' };

/** A byte-order mark decides; else strict UTF-8 that decodes throughout; else Windows-1252, which any bytes satisfy. */
export function detectEncoding(bytes: Uint8Array): EncodingEvidence {
  return markedEncoding(bytes) ?? (isUtf8(bytes) ? READS_AS_UTF8 : NOT_UTF8);
}

function isUtf8(bytes: Uint8Array): boolean {
  const decoder = new TextDecoder('utf-8', { fatal: true });
  for (let at = 0; at < bytes.length; at += PIECE_BYTES) {
    try {
      decoder.decode(bytes.subarray(at, at + PIECE_BYTES), { stream: at + PIECE_BYTES < bytes.length });
    } catch {
      return false;
    }
  }
  return true;
}

/** Windows-1252's characters for bytes 0x80–0x9F (WHATWG Encoding Standard, index windows-1252). */
const UPPER_1252 = '€\u0081‚ƒ„…†‡ˆ‰Š‹Œ\u008dŽ\u008f\u0090‘’“”•–—˜™š›œ\u009džŸ';

/** Some versions of Node decode windows-1252 as ISO 8859-1; where the decoder is right this changes nothing. */
function mend1252(text: string): string {
  return text.replace(/[\u0080-\u009f]/g, (c) => UPPER_1252[c.charCodeAt(0) - 0x80] ?? c);
}

/** The text of some of a file's bytes. */
export type Decode = (from: number, to: number) => string;

/** Thrown where bytes that should be UTF-8 are not. */
export class NotUtf8 extends Error {}

/** Reads single cells. `strict` throws `NotUtf8` where bytes do not fit, instead of replacing them. */
export function decoderOf(bytes: Uint8Array, encoding: 'utf-8' | 'windows-1252', strict: boolean): Decode {
  const decoder = new TextDecoder(encoding, { fatal: strict, ignoreBOM: true });
  return (from, to) => {
    try {
      const text = decoder.decode(bytes.subarray(from, to));
      return encoding === 'windows-1252' ? mend1252(text) : text;
    } catch {
      throw new NotUtf8(`bytes ${from} to ${to} must be UTF-8`);
    }
  };
}

/** The same text in UTF-8, which keeps ASCII as it is: so separators and line ends can be looked for byte by byte. */
export async function asUtf8(
  bytes: Uint8Array,
  encoding: Encoding,
  pause: () => Promise<void>,
): Promise<Uint8Array> {
  const decoder = new TextDecoder(encoding);
  const encoder = new TextEncoder();
  const pieces: Uint8Array[] = [];
  for (let at = 0; at < bytes.length; at += PIECE_BYTES) {
    const stream = at + PIECE_BYTES < bytes.length;
    pieces.push(encoder.encode(decoder.decode(bytes.subarray(at, at + PIECE_BYTES), { stream })));
    await pause();
  }
  const whole = new Uint8Array(pieces.reduce((sum, piece) => sum + piece.length, 0));
  let at = 0;
  for (const piece of pieces) {
    whole.set(piece, at);
    at += piece.length;
  }
  return whole;
}

/** The text in pieces of about a megabyte, every line end as `\n`, with the bytes consumed so far. */
export function* textPieces(
  bytes: Uint8Array,
  encoding: Encoding,
  pieceBytes = PIECE_BYTES,
): Generator<{ readonly text: string; readonly bytesRead: number }> {
  const decoder = new TextDecoder(encoding); // drops a byte-order mark by itself
  let heldReturn = '';
  for (let at = 0; at < bytes.length; at += pieceBytes) {
    const end = Math.min(at + pieceBytes, bytes.length);
    const decoded = decoder.decode(bytes.subarray(at, end), { stream: end < bytes.length });
    let text = heldReturn + (encoding === 'windows-1252' ? mend1252(decoded) : decoded);
    heldReturn = '';
    if (end < bytes.length && text.endsWith('\r')) {
      heldReturn = '\r'; // its \n may open the next piece
      text = text.slice(0, -1);
    }
    yield { text: text.includes('\r') ? text.replace(/\r\n?/g, '\n') : text, bytesRead: end };
  }
}
