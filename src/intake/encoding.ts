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

/** Windows-1252's characters for bytes 0x80–0x9F (WHATWG Encoding Standard, index windows-1252). */
const UPPER_1252 = '€\u0081‚ƒ„…†‡ˆ‰Š‹Œ\u008dŽ\u008f\u0090‘’“”•–—˜™š›œ\u009džŸ';

/** Some versions of Node decode windows-1252 as ISO 8859-1; where the decoder is right this changes nothing. */
function mend1252(text: string): string {
  return text.replace(/[\u0080-\u009f]/g, (c) => UPPER_1252[c.charCodeAt(0) - 0x80] ?? c);
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
