import { CodeList } from './code-list.ts';
import { DistinctTexts, type TextBytes } from './distinct-texts.ts';
import type { Decode } from './encoding.ts';
import { type PlainRows, QUOTE } from './plain-lines.ts';
import { type SourceColumn, sourceColumn } from './source.ts';

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
  take({ text, stride, count, stops, decode }: PlainRows, column: number): void {
    const { texts } = this;
    if (passing.length < count) passing = new Int32Array(count);
    const codes = passing;
    for (let row = 0, at = column; row < count; row++, at += stride) {
      const from = (stops[at] as number) + 1;
      const length = (stops[at + 1] as number) - from;
      let code = texts.find(text, from, length);
      // None that begins with a quotation mark is ever added: what stands in quotes is looked at here.
      if (code === -1) {
        const isQuoted = length > 0 && text.bytes[from] === QUOTE;
        code = isQuoted
          ? this.unquoted(text, from + 1, length - 2, decode)
          : this.added(text, from, length, decode);
      }
      codes[row] = code;
    }
    this.codes.pushAll(codes.subarray(0, count), this.distinct.length - 1);
  }

  private unquoted(text: TextBytes, from: number, length: number, decode: Decode): number {
    if (text.bytes.subarray(from, from + length).includes(QUOTE))
      return this.codeOf(decode(from, from + length).replaceAll('""', '"'));
    const code = this.texts.find(text, from, length);
    return code === -1 ? this.added(text, from, length, decode) : code;
  }

  private added(text: TextBytes, from: number, length: number, decode: Decode): number {
    const code = this.codeOf(decode(from, from + length));
    this.texts.add(text, from, length, code);
    return code;
  }

  done(name: string): SourceColumn {
    return sourceColumn(name, 'text', this.codes.done(), this.distinct);
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
