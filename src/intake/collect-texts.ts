import { CodeList } from './code-list.ts';
import { DistinctTexts } from './distinct-texts.ts';
import type { PlainRows } from './plain-lines.ts';
import type { SourceColumn } from './source.ts';

/** The codes of some rows of one column, on their way into its list. */
let passing = new Int32Array(4096);

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
  take({ text, stride, count, starts, ends, decode }: PlainRows, column: number): void {
    const { texts } = this;
    if (passing.length < count) passing = new Int32Array(count);
    const codes = passing;
    for (let row = 0, at = column * stride; row < count; row++, at++) {
      const from = starts[at] as number;
      const length = (ends[at] as number) - from;
      let code = texts.find(text, from, length);
      if (code === -1) {
        code = this.codeOf(decode(from, from + length));
        texts.add(text, from, length, code);
      }
      codes[row] = code;
    }
    this.codes.pushAll(codes, count);
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
