/** FNV-1a, 32 bits (Fowler, Noll and Vo), over UTF-16 units: offset basis and step. */
export const HASH_OF_NOTHING = 0x811c9dc5 | 0;
export const hashWith = (hash: number, code: number): number => Math.imul(hash ^ code, 0x01000193);

const SLOTS_AT_FIRST = 64;

/** Texts known by a number, found by a slice of a longer text: open addressing, half full at most. */
export class DistinctTexts {
  /** Place in `texts` + 1; 0 where free. */
  private slots = new Int32Array(SLOTS_AT_FIRST);
  private hashes = new Int32Array(SLOTS_AT_FIRST);
  private readonly texts: string[] = [];
  private readonly codes: number[] = [];

  /** The number of the text from `from` to `to`, or −1. */
  find(text: string, from: number, to: number, hash: number): number {
    const { slots, hashes, texts } = this;
    const mask = slots.length - 1;
    for (let slot = first(hash) & mask; ; slot = (slot + 1) & mask) {
      const place = slots[slot] as number;
      if (place === 0) return -1;
      if (hashes[slot] === hash && isSlice(texts[place - 1] as string, text, from, to)) {
        return this.codes[place - 1] as number;
      }
    }
  }

  /** A text that is not there yet. */
  add(text: string, hash: number, code: number): void {
    this.texts.push(text);
    this.codes.push(code);
    if (this.texts.length * 2 > this.slots.length) this.widen();
    this.place(hash, this.texts.length);
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

function isSlice(value: string, text: string, from: number, to: number): boolean {
  if (value.length !== to - from) return false;
  for (let at = from; at < to; at++) if (value.charCodeAt(at - from) !== text.charCodeAt(at)) return false;
  return true;
}
