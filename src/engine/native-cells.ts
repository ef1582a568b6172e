import type { DuckDBDataChunk, DuckDBType } from '@duckdb/node-api';
import type { Column } from '../core/table.ts';
import { isoFromSeconds } from './arrow.ts';
import { isThere } from './cells.ts';

/** A column of a result on its way from chunks to one array: a missing number is NaN, another cell null. */
export interface GrowingColumn {
  take(chunk: DuckDBDataChunk, index: number): void;
  done(): Column;
}

/** What is read of a vector: cells of a fixed size lie in `items`, with a bit for each that is there. */
interface Vector {
  readonly itemCount: number;
  readonly items?: ArrayLike<number | bigint>;
  readonly validity?: { readonly data: BigUint64Array | null };
  getItem(index: number): unknown;
}

const MICROS = 1_000_000;

// Type numbers of the engine's C interface (duckdb_type), as `DuckDBTypeId` of the package names them: the package is
// not there on every machine, so that its enumeration cannot be asked for here.
const NUMBERS = new Set([2, 3, 4, 5, 6, 7, 8, 9, 10, 11]);
const BOOLEAN = 1;
const TIMESTAMP = 12;
const DATE = 13;
const HUGEINTS = [16, 32];
const VARCHAR = 17;
const DECIMAL = 19;
const ENUM = 23;
const UNTYPED_NULL = 36;

/** The same types, and the same cells, as `decodeColumn` makes of Arrow. Throws on a type that cannot be shown. */
export function growingColumn(name: string, { typeId }: DuckDBType): GrowingColumn {
  const id = Number(typeId);
  if (NUMBERS.has(id)) return growingNumbers('number', fixed);
  if (id === DATE) return growingNumbers('day', fixed);
  if (HUGEINTS.includes(id)) return growingNumbers('number', each(Number));
  if (id === DECIMAL)
    return growingNumbers(
      'number',
      each((cell) => (cell as { toDouble(): number }).toDouble()),
    );
  if (id === BOOLEAN) return growingList('boolean', (cell) => cell as boolean);
  if (id === VARCHAR || id === ENUM) return growingList('text', String);
  if (id === UNTYPED_NULL) return growingList('text', () => null);
  if (id === TIMESTAMP) {
    return growingList('text', (cell) =>
      isoFromSeconds(Math.floor(Number((cell as { micros: bigint }).micros) / MICROS)),
    );
  }
  throw new Error(
    `column ${name} has a type that cannot be shown (type ${id}): cast it to text, a number or a date`,
  );
}

function growingNumbers(type: 'number' | 'day', read: (vector: Vector) => Float64Array): GrowingColumn {
  const pieces: Float64Array[] = [];
  return {
    take: (chunk, index) => void pieces.push(read(vectorOf(chunk, index))),
    done() {
      const values = new Float64Array(pieces.reduce((sum, { length }) => sum + length, 0));
      let at = 0;
      for (const piece of pieces) {
        values.set(piece, at);
        at += piece.length;
      }
      return { type, values };
    },
  };
}

function fixed({ items = [], validity }: Vector): Float64Array {
  const out = Float64Array.from(items as ArrayLike<number>, Number);
  const words = validity?.data;
  if (!words) return out;
  const bits = new Uint8Array(words.buffer, words.byteOffset, words.byteLength);
  for (let i = 0; i < out.length; i++) if (!isThere(bits, i)) out[i] = Number.NaN;
  return out;
}

const each =
  (number: (cell: unknown) => number) =>
  (vector: Vector): Float64Array =>
    Float64Array.from({ length: vector.itemCount }, (_, i) => {
      const cell = vector.getItem(i);
      return cell === null ? Number.NaN : number(cell);
    });

function growingList<T extends 'text' | 'boolean'>(
  type: T,
  value: (cell: unknown) => string | boolean | null,
): GrowingColumn {
  const values: (string | boolean | null)[] = [];
  return {
    take(chunk, index) {
      const vector = vectorOf(chunk, index);
      for (let i = 0; i < vector.itemCount; i++) {
        const cell = vector.getItem(i);
        values.push(cell === null ? null : value(cell));
      }
    },
    done: () => ({ type, values }) as Column,
  };
}

const vectorOf = (chunk: DuckDBDataChunk, index: number): Vector =>
  chunk.getColumnVector(index) as unknown as Vector;
