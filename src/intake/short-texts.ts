/** Texts of at most so many bytes are known by two numbers that hold them whole. */
export const SHORT_BYTES = 8;

/** Which bits of the first four bytes and of the next four belong to a text, by its length. */
const FIRST = Int32Array.of(0, 0xff, 0xffff, 0xffffff, -1, -1, -1, -1, -1);
const NEXT = Int32Array.of(0, 0, 0, 0, 0, 0xff, 0xffff, 0xffffff, -1);

const SLOTS_AT_FIRST = 64;
/** A slot is four numbers side by side: first and next bytes, length, and code + 1 (0 where the slot is free). */
const WIDTH = 4;

/** Short texts known by a code: open addressing, half full at most. No byte is compared by itself. */
export class ShortTexts {
  private slots = new Int32Array(SLOTS_AT_FIRST * WIDTH);
  private count = 0;

  /** The code of the text of `length` bytes from `from` on, or −1. */
  find(view: DataView, from: number, length: number): number {
    const { slots } = this;
    const mask = slots.length - 1;
    const isInside = from + SHORT_BYTES <= view.byteLength;
    const first = isInside
      ? view.getInt32(from, true) & (FIRST[length] as number)
      : packed(view, from, length, 0);
    const next = isInside
      ? view.getInt32(from + 4, true) & (NEXT[length] as number)
      : packed(view, from, length, 4);
    for (let at = placeOf(first, next, length) & mask; ; at = (at + WIDTH) & mask) {
      const code = slots[at + 3] as number;
      if (code === 0) return -1;
      if (slots[at] === first && slots[at + 1] === next && slots[at + 2] === length) return code - 1;
    }
  }

  /** A text that is not there yet. */
  add(view: DataView, from: number, length: number, code: number): void {
    if (++this.count * WIDTH * 2 > this.slots.length) {
      const old = this.slots;
      this.slots = new Int32Array(old.length * 4);
      for (let at = 0; at < old.length; at += WIDTH) {
        const [first, next, long, known] = old.subarray(at, at + WIDTH) as unknown as [
          number,
          number,
          number,
          number,
        ];
        if (known !== 0) this.place(first, next, long, known);
      }
    }
    this.place(packed(view, from, length, 0), packed(view, from, length, 4), length, code + 1);
  }

  private place(first: number, next: number, length: number, code: number): void {
    const { slots } = this;
    const mask = slots.length - 1;
    let at = placeOf(first, next, length) & mask;
    while (slots[at + 3] !== 0) at = (at + WIDTH) & mask;
    slots[at] = first;
    slots[at + 1] = next;
    slots[at + 2] = length;
    slots[at + 3] = code;
  }
}

/** Four bytes of a text from its byte `skip` on, the first lowest; 0 for what is beyond its end. */
function packed(view: DataView, from: number, length: number, skip: number): number {
  let four = 0;
  for (let k = skip; k < Math.min(length, skip + 4); k++) four |= view.getUint8(from + k) << (8 * (k - skip));
  return four;
}

/** Where a text's slot would be. */
function placeOf(first: number, next: number, length: number): number {
  const mixed = Math.imul((first + length) ^ Math.imul(next, 0x85ebca6b), 0x9e3779b1);
  return (mixed ^ (mixed >>> 15)) << 2;
}
