/** Which distinct value each row holds; as narrow as their number allows, as columns are many and rows more. */
export type Codes = Uint8Array | Uint16Array | Int32Array;

const BLOCK = 1024;

/** A growing list of codes, counted as they come. */
export class CodeList {
  private kept: Codes;
  private used = 0;
  /** How many there are of each code. */
  private counts = new Int32Array(64);
  /** The newest, not kept yet: in numbers of one width the loops that push stay quick. */
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

  /** The first `count` of `codes`, all at once. */
  pushAll(codes: Int32Array, count: number): void {
    this.keepBlock();
    this.keep(codes, count);
  }

  /** All codes, and how many there are of each of the first `distinct`. */
  done(distinct: number): { readonly codes: Codes; readonly counts: Int32Array } {
    this.keepBlock();
    this.countUpTo(distinct);
    const codes = this.used === this.kept.length ? this.kept : this.kept.slice(0, this.used);
    return { codes, counts: this.counts.slice(0, distinct) };
  }

  private keepBlock(): void {
    const count = this.inBlock;
    this.inBlock = 0;
    if (count > 0) this.keep(this.block, count);
  }

  private keep(codes: Int32Array, count: number): void {
    // No code is negative: what the bits of all of them make together is as wide as the widest, and at most twice as much.
    let most = 0;
    for (let i = 0; i < count; i++) most |= codes[i] as number;
    this.countUpTo(most + 1);
    const { counts, used } = this;
    this.make(used + count, most);
    const { kept } = this;
    // Each kind of array in a loop of its own, as one loop for several is slow; `set` across kinds is slower still.
    if (kept instanceof Uint8Array)
      for (let i = 0; i < count; i++) {
        const code = codes[i] as number;
        counts[code]!++;
        kept[used + i] = code;
      }
    else if (kept instanceof Uint16Array)
      for (let i = 0; i < count; i++) {
        const code = codes[i] as number;
        counts[code]!++;
        kept[used + i] = code;
      }
    else
      for (let i = 0; i < count; i++) {
        const code = codes[i] as number;
        counts[code]!++;
        kept[used + i] = code;
      }
    this.used += count;
  }

  private countUpTo(codes: number): void {
    if (codes <= this.counts.length) return;
    const longer = new Int32Array(Math.max(codes, this.counts.length * 2));
    longer.set(this.counts);
    this.counts = longer;
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
