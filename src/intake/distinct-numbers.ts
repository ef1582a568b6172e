const SLOTS_AT_FIRST = 64;

/** Numbers known by a code: open addressing by the bits of the double, half full at most. NaN is not among them. */
export class DistinctNumbers {
  private slots = new Float64Array(SLOTS_AT_FIRST);
  /** Code + 1; 0 where free. */
  private codes = new Int32Array(SLOTS_AT_FIRST);
  private count = 0;

  /** The code of a number, or −1. −0 is 0. */
  find(value: number): number {
    const { slots, codes } = this;
    const mask = slots.length - 1;
    double[0] = value + 0; // not −0
    const [low, high] = [halves[0] as number, halves[1] as number];
    for (let slot = spread(low, high) & mask; ; slot = (slot + 1) & mask) {
      const code = codes[slot] as number;
      if (code === 0) return -1;
      if (slots[slot] === value) return code - 1;
    }
  }

  /** A number that is not there yet. */
  add(value: number, code: number): void {
    if (++this.count * 2 > this.slots.length) this.widen();
    this.place(value, code + 1);
  }

  private place(value: number, code: number): void {
    const mask = this.slots.length - 1;
    const [low, high] = bitsOf(value);
    let slot = spread(low, high) & mask;
    while (this.codes[slot] !== 0) slot = (slot + 1) & mask;
    this.slots[slot] = value;
    this.codes[slot] = code;
  }

  private widen(): void {
    const { slots, codes } = this;
    this.slots = new Float64Array(slots.length * 4);
    this.codes = new Int32Array(slots.length * 4);
    codes.forEach((code, i) => {
      if (code !== 0) this.place(slots[i] as number, code);
    });
  }
}

const double = new Float64Array(1);
const halves = new Int32Array(double.buffer);

function bitsOf(value: number): [low: number, high: number] {
  double[0] = value + 0; // not −0
  return [halves[0] as number, halves[1] as number];
}

/** Whole numbers and halves differ in the upper bits of the double only: they are folded down, then multiplied. */
function spread(low: number, high: number): number {
  const folded = high ^ Math.imul(low, 0x85ebca6b);
  const mixed = Math.imul(folded ^ (folded >>> 16), 0x9e3779b1);
  return mixed ^ (mixed >>> 15);
}
