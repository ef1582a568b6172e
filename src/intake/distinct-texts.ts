import { SHORT_BYTES, ShortTexts } from './short-texts.ts';

/** Bytes that hold texts, and the same to be read several at a time. */
export interface TextBytes {
  readonly bytes: Uint8Array;
  readonly view: DataView;
}

export const textBytes = (bytes: Uint8Array): TextBytes => ({
  bytes,
  view: new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength),
});

/** FNV-1a, 32 bits (Fowler, Noll and Vo). */
function hashOf(bytes: Uint8Array, from: number, length: number): number {
  let hash = 0x811c9dc5 | 0;
  for (let at = from; at < from + length; at++) hash = Math.imul(hash ^ (bytes[at] as number), 0x01000193);
  return hash;
}

const SLOTS_AT_FIRST = 64;
/** A slot is four numbers side by side: hash, start among the bytes, length, and code + 1 (0 where the slot is free). */
const WIDTH = 4;

/** Texts known by a code and found by their bytes: open addressing, half full at most. */
export class DistinctTexts {
  private slots = new Int32Array(SLOTS_AT_FIRST * WIDTH);
  private count = 0;
  /** All texts, one after the other. */
  private bytes = new Uint8Array(1024);
  private used = 0;
  private readonly short = new ShortTexts();

  /** The code of the text of `length` bytes from `from` on, or −1. */
  find({ bytes, view }: TextBytes, from: number, length: number): number {
    return length <= SHORT_BYTES ? this.short.find(view, from, length) : this.findLong(bytes, from, length);
  }

  private findLong(bytes: Uint8Array, from: number, length: number): number {
    const { slots } = this;
    const hash = hashOf(bytes, from, length);
    const mask = slots.length - 1;
    for (let at = first(hash) & mask; ; at = (at + WIDTH) & mask) {
      const code = slots[at + 3] as number;
      if (code === 0) return -1;
      if (
        slots[at] === hash &&
        slots[at + 2] === length &&
        sameBytes(this.bytes, slots[at + 1] as number, bytes, from, length)
      ) {
        return code - 1;
      }
    }
  }

  /** A text that is not there yet. */
  add({ bytes, view }: TextBytes, from: number, length: number, code: number): void {
    if (length <= SHORT_BYTES) {
      this.short.add(view, from, length, code);
      return;
    }
    const used = this.used + length;
    if (used > this.bytes.length) {
      const wider = new Uint8Array(Math.max(used, this.bytes.length * 2));
      wider.set(this.bytes.subarray(0, this.used));
      this.bytes = wider;
    }
    this.bytes.set(bytes.subarray(from, from + length), this.used);
    if (++this.count * WIDTH * 2 > this.slots.length) this.widen();
    this.place(hashOf(bytes, from, length), this.used, length, code + 1);
    this.used = used;
  }

  private place(hash: number, start: number, length: number, code: number): void {
    const { slots } = this;
    const mask = slots.length - 1;
    let at = first(hash) & mask;
    while (slots[at + 3] !== 0) at = (at + WIDTH) & mask;
    slots[at] = hash;
    slots[at + 1] = start;
    slots[at + 2] = length;
    slots[at + 3] = code;
  }

  private widen(): void {
    const old = this.slots;
    this.slots = new Int32Array(old.length * 4);
    for (let at = 0; at < old.length; at += WIDTH) {
      const [hash, start, length, code] = old.subarray(at, at + WIDTH);
      if (code !== 0) this.place(hash as number, start as number, length as number, code as number);
    }
  }
}

/** Where a text's slot would be; the lower bits of the hash alone tell short texts apart poorly. */
const first = (hash: number): number => (hash ^ (hash >>> 15)) << 2;

function sameBytes(a: Uint8Array, fromA: number, b: Uint8Array, fromB: number, length: number): boolean {
  for (let i = 0; i < length; i++) if (a[fromA + i] !== b[fromB + i]) return false;
  return true;
}
