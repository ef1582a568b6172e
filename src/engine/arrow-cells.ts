import {
  type Column as ArrowColumn,
  type Batch,
  type DataType,
  DateUnit,
  Precision,
  Type,
  tableFromIPC,
} from '@uwdata/flechette';
import { asText, decodeColumn, isoFromSeconds, LATEST_SECOND, READ_PLAINLY } from './arrow.ts';
import { type Cells, type CellTable, isThere, type KeyCells, type NumberCells } from './cells.ts';

/** Arrow IPC bytes as cells. Throws on a type it does not know. */
export function decodeCells(bytes: Uint8Array): CellTable {
  const arrow = tableFromIPC(bytes, READ_PLAINLY);
  const columns = arrow.schema.fields.map(({ name, type }, index) => {
    const column = arrow.getChildAt(index) as ArrowColumn<unknown>;
    const [batch, ...more] = column.data;
    const direct = batch && more.length === 0 ? directCells(type, batch) : null;
    return { name, cells: direct ?? madeOneByOne(name, type, column, arrow.numRows) };
  });
  return { rowCount: arrow.numRows, columns };
}

function madeOneByOne(...column: Parameters<typeof decodeColumn>): Cells {
  const { type, values } = decodeColumn(...column);
  return { kind: 'list', type, values };
}

/** Null where the buffers do not hold the cells as they are wanted. */
function directCells(type: DataType, batch: Batch<unknown>): Cells | null {
  const validity = batch.nullCount > 0 ? batch.validity : null;
  const numbers = (values: Float64Array | null, more: Pick<NumberCells, 'type' | 'spell'>): Cells | null =>
    values && { kind: 'numbers', values, validity, ...more };
  switch (type.typeId) {
    case Type.Int: {
      const values = doublesOf(batch);
      return values
        ? numbers(values, { type: 'number' })
        : { kind: 'list', type: 'number', values: exactly(batch) };
    }
    case Type.Float:
      return type.precision === Precision.HALF ? null : numbers(doublesOf(batch), { type: 'number' });
    case Type.Date:
      return type.unit === DateUnit.DAY ? numbers(doublesOf(batch), { type: 'day' }) : null;
    case Type.Timestamp:
      return numbers(secondsOf(batch), { type: 'text', spell: isoFromSeconds });
    case Type.Bool:
      return { kind: 'bits', type: 'boolean', bits: batch.values as Uint8Array, validity };
    case Type.Utf8:
    case Type.LargeUtf8: {
      const offsets = narrow(batch.offsets as ArrayLike<number | bigint>);
      return { kind: 'texts', type: 'text', offsets, bytes: batch.values as Uint8Array, validity };
    }
    case Type.Dictionary: {
      const { dictionary } = batch as unknown as { readonly dictionary: ArrowColumn<unknown> };
      const keys = batch.values as Int32Array;
      return { kind: 'keys', type: 'text', keys, words: wordsOf(dictionary), validity };
    }
    default:
      return null;
  }
}

/** Words of a dictionary where they lie, if they lie together as UTF-8. */
function wordsOf(dictionary: ArrowColumn<unknown>): KeyCells['words'] {
  const [words, ...more] = dictionary.data;
  const cells = words && more.length === 0 && words.length > 0 ? directCells(dictionary.type, words) : null;
  return cells?.kind === 'texts' ? cells : Array.from(dictionary, asText);
}

/** Offsets of 64 bits lie within a batch in memory, and so within 32. */
const narrow = (offsets: ArrayLike<number | bigint>): Int32Array =>
  offsets instanceof Int32Array ? offsets : Int32Array.from(offsets as ArrayLike<number>, Number);

function doublesOf(batch: Batch<unknown>): Float64Array | null {
  const { values, length } = batch;
  if (values instanceof Float64Array) return values.subarray(0, length);
  if (values instanceof BigInt64Array || values instanceof BigUint64Array) return safeDoubles(batch);
  return new Float64Array((values as Int32Array).subarray(0, length));
}

/** Whole numbers of 64 bits by their halves, as BigInts are slow; null where a double would round one. */
function safeDoubles({ values, length }: Batch<unknown>): Float64Array | null {
  const { buffer, byteOffset } = values as unknown as BigInt64Array;
  const low = new Uint32Array(buffer, byteOffset, length * 2);
  const high = values instanceof BigInt64Array ? new Int32Array(buffer, byteOffset, length * 2) : low;
  const out = new Float64Array(length);
  for (let i = 0; i < length; i++) {
    const value = (high[2 * i + 1] as number) * 2 ** 32 + (low[2 * i] as number);
    if (!Number.isSafeInteger(value)) return null;
    out[i] = value;
  }
  return out;
}

/** Whole numbers of 64 bits that a double would round as their digits, as an identifier must not change; the others as numbers. */
function exactly({ values, validity, nullCount, length }: Batch<unknown>): (number | string | null)[] {
  const there = nullCount > 0 ? validity : null;
  return Array.from(values as unknown as BigInt64Array)
    .slice(0, length)
    .map((value, i) => {
      if (!isThere(there, i)) return null;
      return Number.isSafeInteger(Number(value)) ? Number(value) : String(value);
    });
}

/** Timestamps as whole seconds since 1970, NaN where missing; null where one lies outside of the calendar. */
function secondsOf(batch: Batch<unknown>): Float64Array | null {
  const out = new Float64Array(batch.length);
  for (let i = 0; i < out.length; i++) {
    const ms = batch.at(i);
    const second = typeof ms === 'number' ? Math.floor(ms / 1000) : Number.NaN;
    if (Math.abs(second) > LATEST_SECOND) return null;
    out[i] = second;
  }
  return out;
}
