import {
  type BitCells,
  type Cells,
  isThere,
  type KeyCells,
  type NumberCells,
  type TextCells,
} from '../engine/cells.ts';
import { CodeList } from './code-list.ts';
import { DistinctNumbers } from './distinct-numbers.ts';
import { DistinctTexts, textBytes } from './distinct-texts.ts';
import type { RawCell, SourceColumn } from './source.ts';

/** Measures are small and written in halves: twice such a number is its place in a short list, and needs no search. */
const NEAR = 4096;

/** The codes of some cells of one column, on their way into its list. */
let passing = new Int32Array(65_536);

function roomFor(count: number): Int32Array {
  if (passing.length < count) passing = new Int32Array(count);
  return passing;
}

/** Collects one column of a file that knows its types, each distinct value once. */
export class CellCollector {
  private readonly codes: CodeList;
  private readonly distinct: RawCell[] = [];
  private readonly numbers = new DistinctNumbers();
  /** Codes of numbers from 0 by twice their value, −1 where not met. */
  private readonly near = new Int32Array(NEAR).fill(-1);
  private readonly texts = new DistinctTexts();
  /** Values by themselves, where they come made. */
  private readonly known = new Map<RawCell, number>();
  private readonly decoder = new TextDecoder('utf-8', { ignoreBOM: true });
  private missing = -1;
  private last = Number.NaN;
  private lastCode = -1;

  constructor(rowCount: number) {
    this.codes = new CodeList(rowCount);
  }

  /** The next `count` cells. */
  take(cells: Cells, count: number): void {
    if (cells.kind === 'numbers') this.takeNumbers(cells, count);
    else if (cells.kind === 'texts') this.takeTexts(cells, count);
    else if (cells.kind === 'keys') this.takeKeys(cells, count);
    else if (cells.kind === 'bits') this.takeBits(cells, count);
    else for (let i = 0; i < count; i++) this.codes.push(this.codeOf(cells.values[i] as RawCell));
  }

  done(name: string, type: SourceColumn['type']): SourceColumn {
    const { distinct } = this;
    return { name, type, distinct, ...this.codes.done(distinct.length) };
  }

  private takeNumbers({ values, validity, spell }: NumberCells, count: number): void {
    const { near } = this;
    const codes = roomFor(count);
    for (let i = 0; i < count; i++) {
      const value = values[i] as number;
      // What stands in the place of a missing number may be any.
      if (!isThere(validity, i)) {
        codes[i] = this.codeOfMissing();
        continue;
      }
      const twice = value * 2;
      const place = twice | 0;
      const isNear = place === twice && place >= 0 && place < NEAR;
      const code = isNear ? (near[place] as number) : this.codeOfFar(value);
      codes[i] = code !== -1 ? code : this.newNumber(value, isNear ? place : -1, spell);
    }
    this.codes.pushAll(codes, count);
  }

  /** The code of a number that is not near, −1 where it is new. */
  private codeOfFar(value: number): number {
    if (Number.isNaN(value)) return this.codeOfMissing();
    // Each foot of a horse is much like the one before.
    if (value === this.last) return this.lastCode;
    this.last = value;
    this.lastCode = this.numbers.find(value);
    return this.lastCode;
  }

  private newNumber(value: number, place: number, spell: NumberCells['spell']): number {
    const code = this.add(spell ? spell(value) : value);
    if (place >= 0) this.near[place] = code;
    else {
      this.numbers.add(value, code);
      this.lastCode = code;
    }
    return code;
  }

  private takeTexts({ offsets, bytes, validity }: TextCells, count: number): void {
    const { texts } = this;
    const text = textBytes(bytes);
    const codes = roomFor(count);
    for (let i = 0; i < count; i++) {
      if (!isThere(validity, i)) {
        codes[i] = this.codeOfMissing();
        continue;
      }
      const from = offsets[i] as number;
      const length = (offsets[i + 1] as number) - from;
      let code = texts.find(text, from, length);
      if (code === -1) {
        code = this.add(this.decoder.decode(bytes.subarray(from, from + length)));
        texts.add(text, from, length, code);
      }
      codes[i] = code;
    }
    this.codes.pushAll(codes, count);
  }

  private takeKeys({ keys, words, validity }: KeyCells, count: number): void {
    const codes = roomFor(count);
    const codeOfKey = new Int32Array(words.length).fill(-1);
    for (let i = 0; i < count; i++) {
      if (!isThere(validity, i)) {
        codes[i] = this.codeOfMissing();
        continue;
      }
      const key = keys[i] as number;
      if (codeOfKey[key] === -1) codeOfKey[key] = this.codeOf(words[key] as string | null);
      codes[i] = codeOfKey[key] as number;
    }
    this.codes.pushAll(codes, count);
  }

  private takeBits({ bits, validity }: BitCells, count: number): void {
    const codes = roomFor(count);
    const known = [-1, -1];
    for (let i = 0; i < count; i++) {
      if (!isThere(validity, i)) {
        codes[i] = this.codeOfMissing();
        continue;
      }
      const bit = isThere(bits, i) ? 1 : 0;
      if (known[bit] === -1) known[bit] = this.codeOf(bit === 1);
      codes[i] = known[bit] as number;
    }
    this.codes.pushAll(codes, count);
  }

  private codeOf(value: RawCell): number {
    if (value === null || Number.isNaN(value)) return this.codeOfMissing();
    const code = this.known.get(value);
    if (code !== undefined) return code;
    const added = this.add(value);
    this.known.set(value, added);
    return added;
  }

  private codeOfMissing(): number {
    if (this.missing === -1) this.missing = this.add(null);
    return this.missing;
  }

  private add(value: RawCell): number {
    return this.distinct.push(value) - 1;
  }
}
