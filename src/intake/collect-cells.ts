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
import { DistinctTexts, hashOf, sameBytes } from './distinct-texts.ts';
import type { RawCell, SourceColumn } from './source.ts';

/** Collects one column of a file that knows its types, each distinct value once. */
export class CellCollector {
  private readonly codes: CodeList;
  private readonly distinct: RawCell[] = [];
  private readonly numbers = new DistinctNumbers();
  private readonly texts = new DistinctTexts();
  /** Values by themselves, where they come made. */
  private readonly known = new Map<RawCell, number>();
  private readonly decoder = new TextDecoder('utf-8', { ignoreBOM: true });
  private missing = -1;

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
    const { numbers, codes } = this;
    const bits = new Int32Array(values.buffer, values.byteOffset, values.length * 2);
    let last = Number.NaN;
    let lastCode = -1;
    for (let i = 0; i < count; i++) {
      const value = values[i] as number;
      // What stands in the place of a missing number may be any.
      if (Number.isNaN(value) || !isThere(validity, i)) codes.push(this.codeOfMissing());
      else {
        // Each foot of a horse is much like the one before.
        if (value !== last) {
          last = value;
          lastCode =
            value === 0
              ? numbers.find(0, 0, 0)
              : numbers.find(value, bits[2 * i] as number, bits[2 * i + 1] as number);
          if (lastCode === -1) {
            lastCode = this.add(spell ? spell(value) : value);
            numbers.add(value, lastCode);
          }
        }
        codes.push(lastCode);
      }
    }
  }

  private takeTexts({ offsets, bytes, validity }: TextCells, count: number): void {
    const { texts, codes } = this;
    let lastFrom = 0;
    let lastLength = -1;
    let lastCode = -1;
    for (let i = 0; i < count; i++) {
      if (!isThere(validity, i)) {
        codes.push(this.codeOfMissing());
        continue;
      }
      const from = offsets[i] as number;
      const length = (offsets[i + 1] as number) - from;
      if (length !== lastLength || !sameBytes(bytes, lastFrom, bytes, from, length)) {
        const hash = hashOf(bytes, from, length);
        lastCode = texts.find(bytes, from, length, hash);
        if (lastCode === -1) {
          lastCode = this.add(this.decoder.decode(bytes.subarray(from, from + length)));
          texts.add(bytes, from, length, hash, lastCode);
        }
        lastLength = length;
      }
      lastFrom = from;
      codes.push(lastCode);
    }
  }

  private takeKeys({ keys, words, validity }: KeyCells, count: number): void {
    const { codes } = this;
    const codeOfKey = new Int32Array(words.length).fill(-1);
    for (let i = 0; i < count; i++) {
      if (!isThere(validity, i)) {
        codes.push(this.codeOfMissing());
        continue;
      }
      const key = keys[i] as number;
      if (codeOfKey[key] === -1) codeOfKey[key] = this.codeOf(words[key] as string | null);
      codes.push(codeOfKey[key] as number);
    }
  }

  private takeBits({ bits, validity }: BitCells, count: number): void {
    const { codes } = this;
    for (let i = 0; i < count; i++) {
      codes.push(isThere(validity, i) ? this.codeOf(isThere(bits, i)) : this.codeOfMissing());
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
