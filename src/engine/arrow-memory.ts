import type { Cells, CellTable, KeyCells, NumberCells, TextCells } from './cells.ts';

// Where the fields of the two structures of the Arrow C data interface stand, with pointers of 32 bits:
// https://arrow.apache.org/docs/format/CDataInterface.html#structure-definitions
const SCHEMA = { format: 0, name: 4, childCount: 24, children: 32, dictionary: 36 } as const;
const ARRAY = { length: 0, nullCount: 8, offset: 16, buffers: 40, children: 44, dictionary: 48 } as const;

type NumberView = Float64Array | Float32Array | Int32Array | Int16Array | Int8Array | Uint8Array;
const NUMBERS: Readonly<Record<string, new (memory: ArrayBuffer, at: number, length: number) => NumberView>> =
  { g: Float64Array, f: Float32Array, i: Int32Array, s: Int16Array, c: Int8Array, C: Uint8Array };

const decoder = new TextDecoder();

/**
 * The columns of a record batch where they lie in a codec's memory: valid until the codec works on. Null where one of
 * them is of a type that must be looked at value by value, or does not begin at its beginning.
 */
export function cellsInMemory(memory: ArrayBuffer, schemaAt: number, arrayAt: number): CellTable | null {
  const view = new DataView(memory);
  const pointer = (at: number): number => view.getUint32(at, true);
  const whole = (at: number): number => Number(view.getBigInt64(at, true));
  if (whole(arrayAt + ARRAY.offset) !== 0) return null;
  const formatAt = (schema: number): string => textAt(memory, pointer(schema + SCHEMA.format));
  const placeAt = (array: number): Place | null => {
    if (whole(array + ARRAY.offset) !== 0) return null;
    const buffers = pointer(array + ARRAY.buffers);
    const length = whole(array + ARRAY.length);
    const bits = pointer(buffers);
    const validity =
      bits === 0 || whole(array + ARRAY.nullCount) === 0
        ? null
        : new Uint8Array(memory, bits, Math.ceil(length / 8));
    return { memory, length, validity, values: pointer(buffers + 4), texts: () => pointer(buffers + 8) };
  };
  const columnAt = (schema: number, array: number): Cells | null => {
    const place = placeAt(array);
    const format = formatAt(schema);
    const words = pointer(schema + SCHEMA.dictionary);
    if (!place || words === 0) return place && cellsOf(format, place);
    const isOfTexts = format === 'i' && formatAt(words) === 'u';
    return isOfTexts ? keysOf(place, placeAt(pointer(array + ARRAY.dictionary))) : null;
  };
  const columns: { name: string; cells: Cells }[] = [];
  for (let k = 0; k < whole(schemaAt + SCHEMA.childCount); k++) {
    const schema = pointer(pointer(schemaAt + SCHEMA.children) + 4 * k);
    const array = pointer(pointer(arrayAt + ARRAY.children) + 4 * k);
    const cells = columnAt(schema, array);
    if (!cells) return null;
    columns.push({ name: textAt(memory, pointer(schema + SCHEMA.name)), cells });
  }
  return { rowCount: whole(arrayAt + ARRAY.length), columns };
}

interface Place {
  readonly memory: ArrayBuffer;
  readonly length: number;
  readonly validity: Uint8Array | null;
  /** Where the second buffer begins, and the third, which only texts have. */
  readonly values: number;
  texts(): number;
}

function cellsOf(format: string, { memory, length, validity, values, texts }: Place): Cells | null {
  const numbers = (type: NumberCells['type'], of: string): Cells | null => {
    const View = NUMBERS[of] as NonNullable<(typeof NUMBERS)[string]>;
    // An empty buffer need not stand anywhere.
    if (length === 0) return { kind: 'numbers', type, values: new Float64Array(0), validity: null };
    if (values % 8 !== 0) return null;
    const view = new View(memory, values, length);
    return {
      kind: 'numbers',
      type,
      values: view instanceof Float64Array ? view : new Float64Array(view),
      validity,
    };
  };
  if (format in NUMBERS) return numbers('number', format);
  if (format === 'tdD') return numbers('day', 'i');
  if (format === 'b')
    return {
      kind: 'bits',
      type: 'boolean',
      bits: new Uint8Array(memory, values, Math.ceil(length / 8)),
      validity,
    };
  return format === 'u' ? textsOf({ memory, length, validity, values, texts }) : null;
}

function textsOf({ memory, length, validity, values, texts }: Place): TextCells | null {
  if (length === 0 || values % 4 !== 0) return null;
  const offsets = new Int32Array(memory, values, length + 1);
  const bytes = new Uint8Array(memory, texts(), offsets[length]);
  return { kind: 'texts', type: 'text', offsets, bytes, validity };
}

/** Where every text is missing there is no word, and no place where words would stand. */
const NO_WORDS: readonly string[] = [];

function keysOf({ memory, length, validity, values }: Place, wordsAt: Place | null): KeyCells | null {
  if (!wordsAt || length === 0 || values % 4 !== 0) return null;
  const words = wordsAt.length === 0 ? NO_WORDS : textsOf(wordsAt);
  return (
    words && { kind: 'keys', type: 'text', keys: new Int32Array(memory, values, length), words, validity }
  );
}

function textAt(memory: ArrayBuffer, at: number): string {
  const bytes = new Uint8Array(memory, at);
  return decoder.decode(bytes.subarray(0, bytes.indexOf(0)));
}
