/** FNV-1a, 32 bits (Fowler, Noll and Vo): offset basis and step. */
export const HASH_OF_NOTHING = 0x811c9dc5 | 0;
export const hashWith = (hash: number, byte: number): number => Math.imul(hash ^ byte, 0x01000193);

export function hashOf(bytes: Uint8Array, from: number, to: number): number {
  let hash = HASH_OF_NOTHING;
  for (let at = from; at < to; at++) hash = hashWith(hash, bytes[at] as number);
  return hash;
}

const SLOTS_AT_FIRST = 64;

/** Texts known by a number and found by their bytes: open addressing, half full at most. */
export class DistinctTexts {
  /** Place among the texts + 1; 0 where free. */
  private slots = new Int32Array(SLOTS_AT_FIRST);
  private hashes = new Int32Array(SLOTS_AT_FIRST);
  /** All texts, one after the other: text `place` ends at `ends[place]`. */
  private bytes = new Uint8Array(1024);
  private readonly ends: number[] = [];
  private readonly codes: number[] = [];

  /** The number of the text from `from` to `to`, or −1. */
  find(bytes: Uint8Array, from: number, to: number, hash: number): number {
    const { slots, hashes } = this;
    const mask = slots.length - 1;
    for (let slot = first(hash) & mask; ; slot = (slot + 1) & mask) {
      const place = slots[slot] as number;
      if (place === 0) return -1;
      if (hashes[slot] === hash && this.is(place - 1, bytes, from, to)) {
        return this.codes[place - 1] as number;
      }
    }
  }

  /** A text that is not there yet. */
  add(bytes: Uint8Array, from: number, to: number, hash: number, code: number): void {
    const start = this.ends.at(-1) ?? 0;
    const end = start + to - from;
    if (end > this.bytes.length) {
      const wider = new Uint8Array(Math.max(end, this.bytes.length * 2));
      wider.set(this.bytes.subarray(0, start));
      this.bytes = wider;
    }
    this.bytes.set(bytes.subarray(from, to), start);
    this.ends.push(end);
    this.codes.push(code);
    if (this.ends.length * 2 > this.slots.length) this.widen();
    this.place(hash, this.ends.length);
  }

  private is(place: number, bytes: Uint8Array, from: number, to: number): boolean {
    const start = place === 0 ? 0 : (this.ends[place - 1] as number);
    return (
      (this.ends[place] as number) - start === to - from &&
      sameBytes(this.bytes, start, bytes, from, to - from)
    );
  }

  private place(hash: number, place: number): void {
    const mask = this.slots.length - 1;
    let slot = first(hash) & mask;
    while (this.slots[slot] !== 0) slot = (slot + 1) & mask;
    this.slots[slot] = place;
    this.hashes[slot] = hash;
  }

  private widen(): void {
    const { slots, hashes } = this;
    this.slots = new Int32Array(slots.length * 4);
    this.hashes = new Int32Array(slots.length * 4);
    slots.forEach((place, i) => {
      if (place !== 0) this.place(hashes[i] as number, place);
    });
  }
}

/** The lower bits of the hash alone tell short texts apart poorly. */
const first = (hash: number): number => hash ^ (hash >>> 15);

export function sameBytes(
  a: Uint8Array,
  fromA: number,
  b: Uint8Array,
  fromB: number,
  length: number,
): boolean {
  for (let i = 0; i < length; i++) if (a[fromA + i] !== b[fromB + i]) return false;
  return true;
}
