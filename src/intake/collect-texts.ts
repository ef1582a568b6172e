import { CodeList } from './code-list.ts';
import { DistinctTexts, sameBytes } from './distinct-texts.ts';
import type { PlainRows } from './plain-lines.ts';
import type { SourceColumn } from './source.ts';

/** Collects one column of a delimited file, each distinct text once. */
export class TextCollector {
  private readonly codes = new CodeList();
  private readonly known = new Map<string, number>();
  private readonly distinct: string[] = [];
  private readonly texts = new DistinctTexts();

  push(text: string): void {
    this.codes.push(this.codeOf(text));
  }

  /** Column `column` of lines taken apart: a cell becomes a string only where its text is new. */
  take({ bytes, width, count, starts, ends, hashes, decode }: PlainRows, column: number): void {
    const { texts, codes } = this;
    let lastFrom = 0;
    let lastLength = -1;
    let lastHash = 0;
    let lastCode = -1;
    for (let row = 0, at = column; row < count; row++, at += width) {
      const from = starts[at] as number;
      const length = (ends[at] as number) - from;
      const hash = hashes[at] as number;
      // Each foot of a horse is much like the one before.
      if (hash !== lastHash || length !== lastLength || !sameBytes(bytes, lastFrom, bytes, from, length)) {
        lastCode = texts.find(bytes, from, length, hash);
        if (lastCode === -1) {
          lastCode = this.codeOf(decode(from, from + length));
          texts.add(bytes, from, length, hash, lastCode);
        }
        lastLength = length;
        lastHash = hash;
      }
      lastFrom = from;
      codes.push(lastCode);
    }
  }

  done(name: string): SourceColumn {
    const { distinct } = this;
    return { name, type: 'text', distinct, ...this.codes.done(distinct.length) };
  }

  private codeOf(text: string): number {
    let code = this.known.get(text);
    if (code === undefined) {
      code = this.distinct.push(text) - 1;
      this.known.set(text, code);
    }
    return code;
  }
}
