import {
  type Column as ArrowColumn,
  type Batch,
  type DataType,
  Type,
  tableFromColumns,
  tableFromIPC,
  tableToIPC,
} from '@uwdata/flechette';
import type { Column, Table } from '../core/table.ts';
import { arrowColumn } from './arrow-columns.ts';
import { distinctTexts } from './arrow-texts.ts';
import { joinedBytes } from './joined-bytes.ts';

const MS_PER_DAY = 86_400_000;
/** ECMAScript's calendar ends 100 million days from 1970. */
export const LATEST_SECOND = 8.64e12;
/** Whole numbers, decimals and dates as numbers. */
export const READ_PLAINLY = { useDate: false, useBigInt: false, useDecimalInt: false } as const;

/** A table as the engine takes it in: an Arrow IPC stream with its texts by dictionary. */
export const encodeForEngine = (table: Table): Uint8Array => joinedBytes(partsForEngine(table));

/** The same in the parts of which it is put together; they may be the table's own memory. */
export const partsForEngine = (table: Table): Uint8Array[] => encodeInParts(table, 'by-dictionary');

/** A table for other programs, as an Arrow IPC stream (columnar format 1.5): numbers as float64, days as date32, text as utf8. */
export const encodeArrow = (table: Table): Uint8Array => joinedBytes(encodeInParts(table, 'written-out'));

function encodeInParts(table: Table, writing: Parameters<typeof arrowColumn>[1]): Uint8Array[] {
  const columns = Object.entries(table.columns).map(([name, column]) => [name, arrowColumn(column, writing)]);
  const parts: Uint8Array[] = [];
  const sink = {
    write: (bytes: Uint8Array): void => void parts.push(bytes),
    pad: (count: number): void => void parts.push(new Uint8Array(count)),
    finish: () => null,
  };
  tableToIPC(tableFromColumns(Object.fromEntries(columns)), { format: 'stream', sink });
  return parts;
}

/** Arrow IPC bytes (file or stream, or a stream in pieces) as a table. Throws on a type it does not know. */
export function decodeArrow(bytes: Uint8Array | Uint8Array[]): Table {
  const arrow = tableFromIPC(bytes as Uint8Array, READ_PLAINLY);
  const columns: Record<string, Column> = {};
  arrow.schema.fields.forEach((field, index) => {
    const column = arrow.getChildAt(index) as ArrowColumn<unknown>;
    columns[field.name] = decodeColumn(field.name, field.type, column, arrow.numRows);
  });
  return { rowCount: arrow.numRows, columns };
}

/** One column, cell by cell. Throws on a type it does not know. */
export function decodeColumn(
  name: string,
  type: DataType,
  column: ArrowColumn<unknown>,
  rowCount: number,
): Column {
  switch (type.typeId) {
    case Type.Int:
    case Type.Float:
    case Type.Decimal:
      return { type: 'number', values: decodeNumbers(column, rowCount, 1) };
    case Type.Date:
      return { type: 'day', values: decodeNumbers(column, rowCount, MS_PER_DAY) };
    case Type.Bool:
      return { type: 'boolean', values: decodeList(column, rowCount) as (boolean | null)[] };
    case Type.Utf8: {
      const coded = distinctTexts(column, rowCount);
      if (coded) return coded;
      return { type: 'text', values: decodeList(column, rowCount).map(asText) };
    }
    case Type.LargeUtf8:
    case Type.Utf8View:
    case Type.Dictionary:
      return { type: 'text', values: decodeList(column, rowCount).map(asText) };
    case Type.Null:
      return { type: 'text', values: new Array<null>(rowCount).fill(null) };
    case Type.Timestamp:
      return {
        type: 'text',
        values: decodeList(column, rowCount).map((ms) =>
          typeof ms === 'number' ? isoFromSeconds(ms / 1000) : null,
        ),
      };
    default:
      throw new Error(
        `column ${name} has a type that cannot be shown (arrow type ${type.typeId}): cast it to text, a number or a date`,
      );
  }
}

/** A moment as ISO text in UTC, to the second. */
export const isoFromSeconds = (seconds: number): string =>
  new Date(seconds * 1000).toISOString().slice(0, 19);

export function asText(value: unknown): string | null {
  return value === null || value === undefined ? null : String(value);
}

function decodeNumbers(column: ArrowColumn<unknown>, rowCount: number, divisor: number): Float64Array {
  const out = new Float64Array(rowCount);
  let offset = 0;
  for (const batch of column.data) {
    const plain = divisor === 1 ? plainValues(column.type, batch) : null;
    if (plain) {
      out.set(plain, offset);
      if (batch.nullCount > 0) blankMissing(out, offset, batch);
    } else {
      for (let i = 0; i < batch.length; i++) {
        const value = batch.at(i) as number | null;
        out[offset + i] = value === null || value === undefined ? Number.NaN : Number(value) / divisor;
      }
    }
    offset += batch.length;
  }
  return out;
}

/** The values as they lie in memory, where they are numbers there: no call per cell. Null where they are not. */
function plainValues({ typeId }: DataType, { values, length }: Batch<unknown>): ArrayLike<number> | null {
  const isPlain =
    (typeId === Type.Float && (values instanceof Float64Array || values instanceof Float32Array)) ||
    (typeId === Type.Int &&
      (values instanceof Int8Array || values instanceof Int16Array || values instanceof Int32Array));
  return isPlain ? (values as Float64Array).subarray(0, length) : null;
}

function blankMissing(out: Float64Array, offset: number, { validity, length }: Batch<unknown>): void {
  const bits = validity as Uint8Array;
  for (let i = 0; i < length; i++) {
    if (((bits[i >> 3]! >> (i & 7)) & 1) === 0) out[offset + i] = Number.NaN;
  }
}

function decodeList(column: ArrowColumn<unknown>, rowCount: number): unknown[] {
  const out = new Array<unknown>(rowCount);
  let offset = 0;
  for (const batch of column.data) {
    for (let i = 0; i < batch.length; i++) out[offset + i] = batch.at(i) ?? null;
    offset += batch.length;
  }
  return out;
}
