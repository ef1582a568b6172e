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
import { DistinctTexts, type TextBytes, textBytes } from './distinct-texts.ts';
import { type RawCell, type SourceColumn, sourceColumn } from './source.ts';

/** Measures are small and written in halves: twice such a number is its place in a short list, and needs no search. */
const NEAR = 4096;

/** The bits of the eight cells from one on. */
const bitsAt = (validity: Uint8Array | null, first: number): number =>
  validity === null ? 0xff : (validity[first >> 3] as number);

/** The codes of some cells of one column, on their way into its list. */
let passing = new Int32Array(65_536);

function roomFor(count: number): Int32Array {
  if (passing.length < count) passing = new Int32Array(count);
  return passing.subarray(0, count);
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
    const codes = roomFor(count);
    if (cells.kind === 'numbers') this.takeNumbers(cells, codes);
    else if (cells.kind === 'texts') this.takeTexts(cells, codes);
    else if (cells.kind === 'keys') this.takeKeys(cells, codes);
    else if (cells.kind === 'bits') this.takeBits(cells, codes);
    else for (let i = 0; i < count; i++) codes[i] = this.codeOf(cells.values[i] as RawCell);
    this.codes.pushAll(codes, this.distinct.length - 1);
  }

  done(name: string, type: SourceColumn['type']): SourceColumn {
    return sourceColumn(name, type, this.codes.done(), this.distinct);
  }

  private takeNumbers({ values, validity, spell }: NumberCells, codes: Int32Array): void {
    const { near } = this;
    // Eight cells, whose bits share a byte, at a time; what stands in the place of a missing one may be any.
    for (let first = 0; first < codes.length; first += 8) {
      const end = Math.min(first + 8, codes.length);
      for (let i = first, there = bitsAt(validity, first); i < end; i++, there >>= 1) {
        if ((there & 1) === 0) {
          codes[i] = this.codeOfMissing();
          continue;
        }
        const value = values[i] as number;
        const twice = value * 2;
        const place = twice | 0;
        const isNear = place === twice && place >= 0 && place < NEAR;
        const code = isNear ? (near[place] as number) : this.codeOfFar(value);
        codes[i] = code !== -1 ? code : this.newNumber(value, isNear ? place : -1, spell);
      }
    }
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

  private takeTexts(cells: TextCells, codes: Int32Array): void {
    const { validity } = cells;
    const text = textBytes(cells.bytes);
    for (let i = 0; i < codes.length; i++)
      codes[i] = isThere(validity, i) ? this.codeOfText(cells, text, i) : this.codeOfMissing();
  }

  /** The code of text `i`. */
  private codeOfText({ offsets, bytes }: TextCells, text: TextBytes, i: number): number {
    const from = offsets[i] as number;
    const length = (offsets[i + 1] as number) - from;
    const known = this.texts.find(text, from, length);
    if (known !== -1) return known;
    const code = this.add(this.decoder.decode(bytes.subarray(from, from + length)));
    this.texts.add(text, from, length, code);
    return code;
  }

  private takeKeys({ keys, words, validity }: KeyCells, codes: Int32Array): void {
    const codeOfWord = this.wordCodes(words);
    const known = new Int32Array('kind' in words ? words.offsets.length - 1 : words.length).fill(-1);
    for (let first = 0; first < codes.length; first += 8) {
      const end = Math.min(first + 8, codes.length);
      for (let i = first, there = bitsAt(validity, first); i < end; i++, there >>= 1) {
        if ((there & 1) === 0) {
          codes[i] = this.codeOfMissing();
          continue;
        }
        const key = keys[i] as number;
        let code = known[key] as number;
        if (code === -1) {
          code = codeOfWord(key);
          known[key] = code;
        }
        codes[i] = code;
      }
    }
  }

  /** The code of a word of a dictionary. */
  private wordCodes(words: KeyCells['words']): (key: number) => number {
    if (!('kind' in words)) return (key) => this.codeOf(words[key] as string | null);
    const text = textBytes(words.bytes);
    return (key) => (isThere(words.validity, key) ? this.codeOfText(words, text, key) : this.codeOfMissing());
  }

  private takeBits({ bits, validity }: BitCells, codes: Int32Array): void {
    const known = Int32Array.of(-1, -1);
    for (let first = 0; first < codes.length; first += 8) {
      const end = Math.min(first + 8, codes.length);
      let set = bits[first >> 3] as number;
      for (let i = first, there = bitsAt(validity, first); i < end; i++, there >>= 1, set >>= 1) {
        if ((there & 1) === 0) {
          codes[i] = this.codeOfMissing();
          continue;
        }
        if (known[set & 1] === -1) known[set & 1] = this.codeOf((set & 1) === 1);
        codes[i] = known[set & 1] as number;
      }
    }
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
