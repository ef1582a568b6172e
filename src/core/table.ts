/**
 * A table as it travels between workers: columns of equal length, structured-clone safe.
 * Missing is NaN in `number` and `day` columns (so that kernels read typed arrays directly), null elsewhere.
 */
export type Column =
  /** `whole`: every value is a whole number of 32 bits, and the database keeps it as one. */
  | {
      readonly type: 'number';
      readonly values: Float64Array;
      readonly whole?: true;
      readonly byCode?: CodedNumbers;
      /** The same numbers, where all are whole and none is missing. */
      readonly wholes?: Int32Array;
    }
  /** Days since 1970-01-01. */
  | { readonly type: 'day'; readonly values: Float64Array; readonly byCode?: CodedNumbers }
  | {
      readonly type: 'boolean';
      readonly values: readonly (boolean | null)[];
      readonly byCode?: CodedCells<boolean>;
    }
  | TextColumn;

/** Texts, and where it is known which distinct text each is: `values[i]` is `levels[codes[i]]`, null where the code is -1. */
export interface TextColumn {
  readonly type: 'text';
  readonly values: readonly (string | null)[];
  readonly coded?: CodedTexts;
  readonly byCode?: CodedCells<string>;
}

export interface CodedTexts {
  readonly codes: Int32Array;
  /** Distinct texts. */
  readonly levels: readonly string[];
}

/** Codes as narrow as their number allows. */
type Codes = Uint8Array | Uint16Array | Int32Array;

/** `values[i]` is `levels[codes[i]]`, null among them where one is missing; two levels may be the same. */
export interface CodedCells<T extends string | boolean> {
  readonly codes: Codes;
  readonly levels: readonly (T | null)[];
}

/** Where it is known which distinct number each is: `values[i]` is `levels[codes[i]]`, NaN among them where one is missing. */
export interface CodedNumbers {
  readonly codes: Codes;
  readonly levels: Float64Array;
}

export interface Table {
  readonly rowCount: number;
  readonly columns: Readonly<Record<string, Column>>;
}

export type Cell = number | string | boolean | null;

/** One cell, with a missing number as null. Throws on an unknown column: that is bad code. */
export function cellAt(table: Table, name: string, row: number): Cell {
  const column = table.columns[name];
  if (!column) throw new Error(`table has no column ${name}: ${Object.keys(table.columns).join(', ')}`);
  const value = column.values[row];
  if (value === undefined || value === null) return null;
  return typeof value === 'number' && Number.isNaN(value) ? null : value;
}

/** One row as an object of cells. */
export function rowAt(table: Table, row: number): Record<string, Cell> {
  return Object.fromEntries(Object.keys(table.columns).map((name) => [name, cellAt(table, name, row)]));
}

/** Every row as an object: for result tables, never for a herd. */
export function rowsOf(table: Table): Record<string, Cell>[] {
  return Array.from({ length: table.rowCount }, (_, row) => rowAt(table, row));
}

/** The values of a number or day column as a typed array. */
export function numbers(table: Table, name: string): Float64Array {
  const column = table.columns[name];
  if (column?.type !== 'number' && column?.type !== 'day') {
    throw new Error(`column ${name} must hold numbers: ${column?.type ?? 'missing'}`);
  }
  return column.values;
}

/** The values of a text column. */
export function texts(table: Table, name: string): readonly (string | null)[] {
  const column = table.columns[name];
  if (column?.type !== 'text') throw new Error(`column ${name} must hold text: ${column?.type ?? 'missing'}`);
  return column.values;
}

export function numberColumn(values: Iterable<number | null | undefined>): Column {
  return { type: 'number', values: Float64Array.from(values as Iterable<number>, (v) => v ?? Number.NaN) };
}

export function dayColumn(values: Iterable<number | null | undefined>): Column {
  return { type: 'day', values: Float64Array.from(values as Iterable<number>, (v) => v ?? Number.NaN) };
}

export function textColumn(values: Iterable<string | null | undefined>): Column {
  return { type: 'text', values: Array.from(values, (v) => v ?? null) };
}

/** Texts from their codes; the texts themselves are only written out when they are asked for. */
export function codedTextColumn(codes: Int32Array, levels: readonly string[]): TextColumn {
  let written: readonly (string | null)[] | null = null;
  return {
    type: 'text',
    coded: { codes, levels },
    get values() {
      written ??= Array.from(codes, (code) => levels[code] ?? null);
      return written;
    },
  };
}

/** Numbers from their codes; the numbers themselves are only written out when they are asked for. */
export function codedNumberColumn(
  type: 'number' | 'day',
  byCode: CodedNumbers,
  isWhole: boolean = false,
): Column {
  const { codes, levels } = byCode;
  let written: Float64Array | null = null;
  const column = {
    type,
    byCode,
    get values() {
      if (written) return written;
      // A loop, as `from` calls for each of millions.
      written = new Float64Array(codes.length);
      for (let i = 0; i < codes.length; i++) written[i] = levels[codes[i] as number] as number;
      return written;
    },
  };
  return (isWhole ? Object.assign(column, { whole: true }) : column) as Column;
}

/** Whole numbers of 32 bits, none missing; as doubles only when they are asked for. */
export function wholeColumn(wholes: Int32Array): Column {
  let written: Float64Array | null = null;
  return {
    type: 'number',
    whole: true,
    wholes,
    get values() {
      written ??= new Float64Array(wholes);
      return written;
    },
  };
}

/** Truths from their codes; they are only written out when they are asked for. */
export function codedBooleanColumn(byCode: CodedCells<boolean>): Column {
  let written: readonly (boolean | null)[] | null = null;
  return {
    type: 'boolean',
    byCode,
    get values() {
      written ??= Array.from(byCode.codes, (code) => byCode.levels[code] ?? null);
      return written;
    },
  };
}

/**
 * Texts from their codes. Where the codes among `distinct` texts are asked for, `codesOf` makes them; they and the texts
 * row by row are only written out then.
 */
export function textColumnByCode(
  byCode: CodedCells<string>,
  distinct: readonly string[],
  codesOf: () => Int32Array,
): TextColumn {
  let codes: Int32Array | null = null;
  let written: readonly (string | null)[] | null = null;
  return {
    type: 'text',
    byCode,
    coded: {
      levels: distinct,
      get codes() {
        codes ??= codesOf();
        return codes;
      },
    },
    get values() {
      written ??= Array.from(byCode.codes, (code) => byCode.levels[code] ?? null);
      return written;
    },
  };
}

/** The codes of texts: those they came with, or each distinct text numbered as it is first met. */
export function codedOf(column: TextColumn): CodedTexts {
  if (column.coded) return column.coded;
  const { values } = column;
  const known = new Map<string, number>();
  const codes = new Int32Array(values.length);
  let last: string | null = null;
  let lastCode = -1;
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as string | null;
    // Rows of one horse stand together, and most of their texts with them.
    if (value !== last) {
      last = value;
      lastCode = value === null ? -1 : (known.get(value) ?? known.size);
      if (lastCode === known.size) known.set(value as string, lastCode);
    }
    codes[i] = lastCode;
  }
  return { codes, levels: [...known.keys()] };
}

export function booleanColumn(values: Iterable<boolean | null | undefined>): Column {
  return { type: 'boolean', values: Array.from(values, (v) => v ?? null) };
}

/** Builds a table and checks that its columns are of one length. */
export function makeTable(columns: Record<string, Column>): Table {
  const lengths = new Set(Object.values(columns).map(lengthOf));
  if (lengths.size > 1) throw new Error(`columns must be of one length: ${[...lengths].join(', ')}`);
  return { rowCount: [...lengths][0] ?? 0, columns };
}

/** Without having texts written out that are known by their codes. */
function lengthOf(column: Column): number {
  const coded = column.type === 'text' && !column.byCode ? column.coded : undefined;
  return (coded?.codes ?? column.values).length;
}
