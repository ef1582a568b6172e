/** Which distinct value each row holds; as narrow as their number allows, as columns are many and rows more. */
export type Codes = Uint8Array | Uint16Array | Int32Array;

const BLOCK = 1024;

/** A growing list of codes. */
export class CodeList {
  private kept: Codes;
  private used = 0;
  /** The newest, not kept yet. */
  private readonly block = new Int32Array(BLOCK);
  private inBlock = 0;

  /** `expected` codes are made room for. */
  constructor(expected = 4 * BLOCK) {
    this.kept = new Uint8Array(expected);
  }

  push(code: number): void {
    this.block[this.inBlock++] = code;
    if (this.inBlock === BLOCK) this.keepBlock();
  }

  /** All of these at once, none of which is more than `most`. */
  pushAll(codes: Int32Array, most: number): void {
    this.keepBlock();
    this.keep(codes, most);
  }

  done(): Codes {
    this.keepBlock();
    return this.used === this.kept.length ? this.kept : this.kept.slice(0, this.used);
  }

  private keepBlock(): void {
    if (this.inBlock === 0) return;
    const codes = this.block.subarray(0, this.inBlock);
    this.inBlock = 0;
    this.keep(
      codes,
      codes.reduce((most, code) => Math.max(most, code), 0),
    );
  }

  private keep(codes: Int32Array, most: number): void {
    this.make(this.used + codes.length, most);
    this.kept.set(codes, this.used);
    this.used += codes.length;
  }

  /** Makes room for `room` codes up to `most`. */
  private make(room: number, most: number): void {
    const { kept } = this;
    const narrowest = most < 2 ** 8 ? 1 : most < 2 ** 16 ? 2 : 4;
    if (room <= kept.length && narrowest <= kept.BYTES_PER_ELEMENT) return;
    const length = room <= kept.length ? kept.length : Math.max(room, Math.ceil(kept.length * 1.5));
    const width = Math.max(narrowest, kept.BYTES_PER_ELEMENT);
    this.kept =
      width === 1 ? new Uint8Array(length) : width === 2 ? new Uint16Array(length) : new Int32Array(length);
    this.kept.set(kept.subarray(0, this.used));
  }
}

/** How many rows have each of the first `distinct` codes. */
export function countsOf(codes: Codes, distinct: number): Int32Array {
  // Each kind of array in a loop of its own, as one loop for several is slow.
  if (codes instanceof Uint8Array) return countsOfBytes(codes).slice(0, distinct);
  const counts = new Int32Array(distinct);
  if (codes instanceof Uint16Array)
    for (let row = 0; row < codes.length; row++) counts[codes[row] as number]!++;
  else for (let row = 0; row < codes.length; row++) counts[codes[row] as number]!++;
  return counts;
}

/** In four counts by turns, as rows that follow one another are much alike: a count waits until its last sum stands. */
function countsOfBytes(codes: Uint8Array): Int32Array {
  const [counts, second, third, fourth] = Array.from({ length: 4 }, () => new Int32Array(2 ** 8)) as [
    Int32Array,
    Int32Array,
    Int32Array,
    Int32Array,
  ];
  let row = 0;
  for (; row + 3 < codes.length; row += 4) {
    counts[codes[row] as number]!++;
    second[codes[row + 1] as number]!++;
    third[codes[row + 2] as number]!++;
    fourth[codes[row + 3] as number]!++;
  }
  for (; row < codes.length; row++) counts[codes[row] as number]!++;
  for (let code = 0; code < counts.length; code++)
    counts[code]! += (second[code] as number) + (third[code] as number) + (fourth[code] as number);
  return counts;
}
