import { CodeList } from './code-list.ts';
import { DistinctTexts } from './distinct-texts.ts';
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

  /** The text whose bytes go from `from` to `to`, hashed: `decode` is asked for it only when it is new. */
  pushBytes(
    bytes: Uint8Array,
    from: number,
    to: number,
    hash: number,
    decode: (from: number, to: number) => string,
  ): void {
    let code = this.texts.find(bytes, from, to, hash);
    if (code === -1) {
      code = this.codeOf(decode(from, to));
      this.texts.add(bytes, from, to, hash, code);
    }
    this.codes.push(code);
  }

  done(name: string): SourceColumn {
    return { name, type: 'text', codes: this.codes.done(), distinct: this.distinct };
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
