import { IntakeRefusal, type RefusalReason } from './refusal.ts';

type FileFormat = 'delimited' | 'parquet';

function startsWith(bytes: Uint8Array, ...signature: number[]): boolean {
  return signature.every((byte, i) => bytes[i] === byte);
}

const PAR1 = [0x50, 0x41, 0x52, 0x31] as const;

/** What a file is by its first bytes, whatever its name says. Throws `IntakeRefusal` for what is not a table. */
export function sniffFormat(file: string, bytes: Uint8Array): FileFormat {
  const refuse = (reason: RefusalReason, sentence: string): never => {
    throw new IntakeRefusal(file, reason, sentence);
  };
  if (bytes.length === 0) refuse('empty', `${file} is empty; choose a file with visits in it.`);
  if (startsWith(bytes, ...PAR1)) {
    const whole = bytes.length > 12 && startsWith(bytes.subarray(-4), ...PAR1);
    if (!whole) {
      refuse('truncated-parquet', `${file} is a Parquet file whose end is missing; export or copy it again.`);
    }
    return 'parquet';
  }
  if (
    startsWith(bytes, 0x89, 0x50, 0x4e, 0x47) ||
    startsWith(bytes, 0xff, 0xd8, 0xff) ||
    startsWith(bytes, 0x47, 0x49, 0x46, 0x38)
  ) {
    refuse('picture', `${file} is a picture, not a table of visits; export the records as CSV.`);
  }
  if (startsWith(bytes, 0x25, 0x50, 0x44, 0x46)) {
    refuse('pdf', `${file} is a PDF document, not a table of visits; export the records as CSV.`);
  }
  if (startsWith(bytes, 0x50, 0x4b, 0x03, 0x04)) {
    if (/\.(xls[xmb]|ods)$/i.test(file) || namesWorkbook(bytes)) {
      refuse('workbook', `${file} is a spreadsheet workbook; save it as CSV first.`);
    }
    refuse('archive', `${file} is a ZIP archive; unpack it and add the files inside.`);
  }
  if (startsWith(bytes, 0xd0, 0xcf, 0x11, 0xe0)) {
    refuse('workbook', `${file} is an old spreadsheet or document; save it as CSV first.`);
  }
  if (startsWith(bytes, 0x1f, 0x8b)) refuse('archive', `${file} is compressed; unpack it first.`);
  if (looksBinary(bytes))
    refuse('binary', `${file} is not text and not Parquet, so it cannot be read; export the records as CSV.`);
  return 'delimited';
}

/** A workbook in a ZIP container names one of these parts near its start. */
function namesWorkbook(bytes: Uint8Array): boolean {
  const head = new TextDecoder('latin1').decode(bytes.subarray(0, 4096));
  return /\[Content_Types\]\.xml|xl\/|opendocument\.spreadsheet/.test(head);
}

/** Control characters that no text export holds; NUL bytes are judged by the encoding, as UTF-16 is full of them. */
function looksBinary(bytes: Uint8Array): boolean {
  const head = bytes.subarray(0, 65_536);
  const utf16 = startsWith(bytes, 0xff, 0xfe) || startsWith(bytes, 0xfe, 0xff) || utf16Order(head) !== null;
  if (utf16) return false;
  let odd = 0;
  for (const byte of head) {
    if (byte === 0) return true;
    if (byte < 0x20 && byte !== 0x09 && byte !== 0x0a && byte !== 0x0d && byte !== 0x0c) odd++;
  }
  return odd > head.length * 0.02;
}

/** Byte order of UTF-16 without a mark: the high bytes of mostly Latin text are zero. */
export function utf16Order(head: Uint8Array): 'utf-16le' | 'utf-16be' | null {
  if (head.length < 4) return null;
  let evenZeros = 0;
  let oddZeros = 0;
  for (let i = 0; i < head.length; i++) {
    if (head[i] === 0) i % 2 === 0 ? evenZeros++ : oddZeros++;
  }
  const pairs = Math.floor(head.length / 2);
  if (oddZeros > pairs * 0.7 && evenZeros < pairs * 0.05) return 'utf-16le';
  if (evenZeros > pairs * 0.7 && oddZeros < pairs * 0.05) return 'utf-16be';
  return null;
}
