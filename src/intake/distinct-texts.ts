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

/** Of a text of four bytes or more, taken four at a time; the last four may overlap. After FNV-1a (Fowler, Noll and Vo). */
function hashOf(view: DataView, from: number, length: number): number {
  const last = from + length - 4;
  let hash = 0x811c9dc5 ^ length;
  for (let at = from; at < last; at += 4) hash = mixed(hash, view.getInt32(at, true));
  return mixed(hash, view.getInt32(last, true));
}

function mixed(hash: number, four: number): number {
  const both = Math.imul(hash ^ four, 0x01000193);
  return both ^ (both >>> 15);
}

function sameText(a: DataView, fromA: number, b: DataView, fromB: number, length: number): boolean {
  const last = length - 4;
  for (let i = 0; i < last; i += 4)
    if (a.getInt32(fromA + i, true) !== b.getInt32(fromB + i, true)) return false;
  return a.getInt32(fromA + last, true) === b.getInt32(fromB + last, true);
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
  private view = new DataView(this.bytes.buffer);
  private used = 0;
  /** The last that was found: each foot of a horse is much like the one before. */
  private lastStart = 0;
  private lastLength = -1;
  private lastCode = -1;
  private readonly short = new ShortTexts();

  /** The code of the text of `length` bytes from `from` on, or −1. */
  find({ view }: TextBytes, from: number, length: number): number {
    return length <= SHORT_BYTES ? this.short.find(view, from, length) : this.findLong(view, from, length);
  }

  private findLong(view: DataView, from: number, length: number): number {
    if (length === this.lastLength && sameText(this.view, this.lastStart, view, from, length))
      return this.lastCode;
    const { slots } = this;
    const hash = hashOf(view, from, length);
    const mask = slots.length - 1;
    for (let at = first(hash) & mask; ; at = (at + WIDTH) & mask) {
      const code = slots[at + 3] as number;
      if (code === 0) return -1;
      if (
        slots[at] === hash &&
        slots[at + 2] === length &&
        sameText(this.view, slots[at + 1] as number, view, from, length)
      ) {
        this.lastStart = slots[at + 1] as number;
        this.lastLength = length;
        this.lastCode = code - 1;
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
      this.view = new DataView(wider.buffer);
    }
    this.bytes.set(bytes.subarray(from, from + length), this.used);
    if (++this.count * WIDTH * 2 > this.slots.length) this.widen();
    this.place(hashOf(view, from, length), this.used, length, code + 1);
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
