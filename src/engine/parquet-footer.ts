import {
  type FieldBytes,
  readThrift,
  structsField,
  type ThriftStruct,
  type ThriftValue,
  textField,
  writeStruct,
} from './thrift.ts';

// What a Parquet file's footer holds, by the numbers of
// https://github.com/apache/parquet-format/blob/master/src/main/thrift/parquet.thrift
const FILE = { schema: 2, rowGroups: 4, keyValues: 5 } as const;
const ELEMENT = { type: 1, repetition: 3, childCount: 5 } as const;
const REPEATED = 2;
const BYTE_ARRAY = 6;
const GROUP_COLUMNS = 1;
const CHUNK_METADATA = 3;
const CHUNK = { encodings: 2, encodingStats: 13 } as const;
const STATS = { pageType: 1, encoding: 2 } as const;
const DATA_PAGES: readonly ThriftValue[] = [0, 3];
const KEY_VALUE = { key: 1, value: 2 } as const;
/** The older name of the encoding was used for its dictionaries too. */
const BY_DICTIONARY: readonly ThriftValue[] = [2, 8];
/** Levels of what is missing are written so, and no values. */
const OF_LEVELS: readonly ThriftValue[] = [3, 4];

/** Under this key a file tells the schema of Arrow that it was made of. */
const ARROW_SCHEMA = 'ARROW:schema';
const MARK = 'PAR1';
/** Length of the footer, and the mark. */
const TAIL_BYTES = 8;
/** To look through a larger one would take as long as is gained. */
const MOST_BYTES = 1 << 23;

/** The footer of a file, and where it begins. */
interface ParquetFooter {
  readonly start: number;
  readonly bytes: Uint8Array;
  readonly fields: ThriftStruct;
}

/** Null where the footer cannot be read so: the codec says what is wrong with it. */
export function footerOf(file: Uint8Array): ParquetFooter | null {
  const end = file.length - TAIL_BYTES;
  if (end < 0 || new TextDecoder().decode(file.subarray(-MARK.length)) !== MARK) return null;
  const length = new DataView(file.buffer, file.byteOffset + end).getUint32(0, true);
  if (length > Math.min(end, MOST_BYTES)) return null;
  const bytes = file.subarray(end - length, end);
  try {
    return { start: end - length, bytes, fields: readThrift(bytes) };
  } catch {
    return null;
  }
}

/**
 * For each column in turn: is it of byte arrays, every page of them written by a dictionary? Where a footer does not say
 * so, it counts as not. Null where columns lie in one another.
 */
export function byDictionary({ fields }: ParquetFooter): boolean[] | null {
  const elements = structsOf(fields, FILE.schema).slice(1);
  const isFlat = elements.every(
    (element) => !element.has(ELEMENT.childCount) && fieldOf(element, ELEMENT.repetition) !== REPEATED,
  );
  if (!isFlat) return null;
  const groups = structsOf(fields, FILE.rowGroups).map((group) => structsOf(group, GROUP_COLUMNS));
  return elements.map(
    (element, k) =>
      fieldOf(element, ELEMENT.type) === BYTE_ARRAY && groups.every((chunks) => isByDictionary(chunks[k])),
  );
}

function isByDictionary(chunk: ThriftStruct | undefined): boolean {
  const metadata = chunk && fieldOf(chunk, CHUNK_METADATA);
  if (!(metadata instanceof Map)) return false;
  const pages = structsOf(metadata, CHUNK.encodingStats).filter((stats) =>
    DATA_PAGES.includes(fieldOf(stats, STATS.pageType)),
  );
  if (pages.length > 0) return pages.every((stats) => BY_DICTIONARY.includes(fieldOf(stats, STATS.encoding)));
  // Without a count of pages: where no other encoding of values is named, there is none.
  const named = fieldOf(metadata, CHUNK.encodings);
  const encodings: readonly ThriftValue[] = Array.isArray(named) ? named : [];
  return (
    encodings.some((each) => BY_DICTIONARY.includes(each)) &&
    encodings.every((each) => BY_DICTIONARY.includes(each) || OF_LEVELS.includes(each))
  );
}

/** The same file, in parts, with another schema of Arrow (base64) in its footer. */
export function withArrowSchema(
  file: Uint8Array,
  { start, bytes, fields }: ParquetFooter,
  schema: string,
): Uint8Array[] {
  const kept = structsOf(fields, FILE.keyValues)
    .filter((pair) => textOf(fieldOf(pair, KEY_VALUE.key)) !== ARROW_SCHEMA)
    .map((pair) => writeStruct(asTheyStand(pair, bytes)));
  const own = writeStruct(
    new Map([
      [KEY_VALUE.key, textField(ARROW_SCHEMA)],
      [KEY_VALUE.value, textField(schema)],
    ]),
  );
  const footer = writeStruct(
    new Map([...asTheyStand(fields, bytes), [FILE.keyValues, structsField([...kept, own])]]),
  );
  const tail = new Uint8Array(TAIL_BYTES);
  new DataView(tail.buffer).setUint32(0, footer.length, true);
  tail.set(new TextEncoder().encode(MARK), 4);
  return [file.subarray(0, start), footer, tail];
}

function asTheyStand(fields: ThriftStruct, bytes: Uint8Array): Map<number, FieldBytes> {
  return new Map(
    [...fields].map(([id, { type, from, to }]) => [id, { type, bytes: bytes.subarray(from, to) }]),
  );
}

const fieldOf = (struct: ThriftStruct, id: number): ThriftValue => struct.get(id)?.value ?? null;

/** The structs of a list; none where there is no such list. */
function structsOf(struct: ThriftStruct, id: number): ThriftStruct[] {
  const list = fieldOf(struct, id);
  return Array.isArray(list) ? list.filter((each): each is ThriftStruct => each instanceof Map) : [];
}

const textOf = (value: ThriftValue): string | null =>
  value instanceof Uint8Array ? new TextDecoder().decode(value) : null;
