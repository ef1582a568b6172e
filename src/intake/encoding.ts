import { utf16Order } from './sniff.ts';

export type Encoding = 'utf-8' | 'utf-16le' | 'utf-16be' | 'windows-1252';

export interface EncodingEvidence {
  readonly encoding: Encoding;
  readonly why: string;
}

const PIECE_BYTES = 1 << 20;

/** A byte-order mark decides; else strict UTF-8 that decodes throughout; else Windows-1252, which any bytes satisfy. */
export function detectEncoding(bytes: Uint8Array): EncodingEvidence {
  if (bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf) {
    return { encoding: 'utf-8', why: 'byte-order mark' };
  }
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return { encoding: 'utf-16le', why: 'byte-order mark' };
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return { encoding: 'utf-16be', why: 'byte-order mark' };
  const unmarked = utf16Order(bytes.subarray(0, 65_536));
  if (unmarked) return { encoding: unmarked, why: 'every second byte is zero' };
  return isUtf8(bytes)
    ? { encoding: 'utf-8', why: 'the whole file reads as UTF-8' }
    : { encoding: 'windows-1252', why: 'some bytes are not UTF-8' };
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
    let text = heldReturn + decoder.decode(bytes.subarray(at, end), { stream: end < bytes.length });
    heldReturn = '';
    if (end < bytes.length && text.endsWith('\r')) {
      heldReturn = '\r'; // its \n may open the next piece
      text = text.slice(0, -1);
    }
    yield { text: text.includes('\r') ? text.replace(/\r\n?/g, '\n') : text, bytesRead: end };
  }
}
