import { type Column as ArrowColumn, Type } from '@uwdata/flechette';
import type { TextColumn } from '../core/table.ts';

/** Fewer rows are not worth a table of their texts. */
const FEWEST_ROWS = 2000;
/** A column with more distinct texts than one in so many rows gains nothing by it. */
const ROWS_PER_TEXT = 4;

/** A piece of a column of UTF-8 texts: those of row i are the bytes from offsets[i] up to offsets[i + 1]. */
interface Texts {
  readonly length: number;
  readonly values: Uint8Array;
  readonly offsets: Int32Array;
  readonly validity?: Uint8Array;
  readonly nullCount: number;
}

/**
 * A long column of few distinct texts, each made once: to make a string of every cell takes many times as long as to see
 * that its bytes were met before. The texts row by row are only written out when they are asked for. Null where the
 * column is short, or its texts are too many.
 */
export function distinctTexts(column: ArrowColumn<unknown>, rowCount: number): TextColumn | null {
  if (column.type.typeId !== Type.Utf8 || rowCount < FEWEST_ROWS) return null;
  const known = new KnownTexts();
  const codes = new Int32Array(rowCount);
  let row = 0;
  for (const batch of column.data as unknown as readonly Texts[]) {
    for (let i = 0; i < batch.length; i++, row++) {
      codes[row] = isMissing(batch, i)
        ? -1
        : known.code(batch.values, batch.offsets[i]!, batch.offsets[i + 1]!);
    }
    if (row >= FEWEST_ROWS && known.levels.length > row / ROWS_PER_TEXT) return null;
  }
  return codedColumn(codes, known.levels);
}

function isMissing({ validity, nullCount }: Texts, i: number): boolean {
  return nullCount > 0 && validity !== undefined && ((validity[i >> 3]! >> (i & 7)) & 1) === 0;
}

/** The codes are no part of what a table is compared or copied by. */
function codedColumn(codes: Int32Array, levels: readonly string[]): TextColumn {
  let written: readonly (string | null)[] | null = null;
  const column: TextColumn = {
    type: 'text',
    get values() {
      written ??= Array.from(codes, (code) => levels[code] ?? null);
      return written;
    },
  };
  return Object.defineProperty(column, 'coded', { value: { codes, levels } });
}

/** Texts numbered as they are first met, found again by their bytes. */
class KnownTexts {
  readonly levels: string[] = [];
  /** Bytes of all levels, one after the other. */
  private bytes = new Uint8Array(1 << 12);
  private ends = new Int32Array(1 << 8);
  /** Codes + 1 by hash, the next free place taken where two meet. */
  private slots = new Int32Array(1 << 10);
  private last = -1;
  private readonly decoder = new TextDecoder();

  code(from: Uint8Array, start: number, end: number): number {
    if (this.last >= 0 && this.is(this.last, from, start, end)) return this.last;
    let hash = 0x811c9dc5;
    for (let at = start; at < end; at++) hash = Math.imul(hash ^ from[at]!, 0x01000193);
    const mask = this.slots.length - 1;
    let slot = (hash ^ (hash >>> 15)) & mask;
    for (;;) {
      const code = this.slots[slot]! - 1;
      if (code < 0) break;
      if (this.is(code, from, start, end)) {
        this.last = code;
        return code;
      }
      slot = (slot + 1) & mask;
    }
    this.last = this.add(from, start, end, slot);
    return this.last;
  }

  private is(code: number, from: Uint8Array, start: number, end: number): boolean {
    let at = code === 0 ? 0 : this.ends[code - 1]!;
    if (this.ends[code]! - at !== end - start) return false;
    for (let k = start; k < end; k++, at++) if (this.bytes[at] !== from[k]) return false;
    return true;
  }

  private add(from: Uint8Array, start: number, end: number, slot: number): number {
    const code = this.levels.length;
    const filled = code === 0 ? 0 : this.ends[code - 1]!;
    const next = filled + end - start;
    if (next > this.bytes.length) this.bytes = grown(this.bytes, new Uint8Array(2 * next));
    if (code === this.ends.length) this.ends = grown(this.ends, new Int32Array(2 * code));
    this.bytes.set(from.subarray(start, end), filled);
    this.ends[code] = next;
    this.levels.push(this.decoder.decode(from.subarray(start, end)));
    this.slots[slot] = code + 1;
    if (2 * this.levels.length > this.slots.length) this.rehash();
    return code;
  }

  private rehash(): void {
    this.slots = new Int32Array(2 * this.slots.length);
    const mask = this.slots.length - 1;
    for (let code = 0; code < this.levels.length; code++) {
      let hash = 0x811c9dc5;
      for (let at = code === 0 ? 0 : this.ends[code - 1]!; at < this.ends[code]!; at++) {
        hash = Math.imul(hash ^ this.bytes[at]!, 0x01000193);
      }
      let slot = (hash ^ (hash >>> 15)) & mask;
      while (this.slots[slot] !== 0) slot = (slot + 1) & mask;
      this.slots[slot] = code + 1;
    }
  }
}

function grown<A extends Uint8Array | Int32Array>(from: A, to: A): A {
  to.set(from);
  return to;
}
