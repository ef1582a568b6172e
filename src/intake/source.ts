import { type Codes, countsOf } from './code-list.ts';
import type { DelimiterEvidence } from './delimiter.ts';
import type { EncodingEvidence } from './encoding.ts';

/** A cell as it stood in the file: text, or a typed value of Parquet (days since 1970-01-01 in `day` columns). */
export type RawCell = string | number | boolean | null;

/** A column held once per distinct value: `distinct[codes[row]]` is the cell. */
export interface SourceColumn {
  readonly name: string;
  readonly type: 'text' | 'number' | 'day' | 'boolean';
  readonly codes: Codes;
  readonly distinct: readonly RawCell[];
  /** How many rows hold each distinct value. */
  readonly counts: Int32Array;
}

/** A column of these codes and values; its rows are only counted where somebody asks. */
export function sourceColumn(
  name: string,
  type: SourceColumn['type'],
  codes: Codes,
  distinct: readonly RawCell[],
): SourceColumn {
  let counts: Int32Array | null = null;
  return {
    name,
    type,
    codes,
    distinct,
    get counts() {
      counts ??= countsOf(codes, distinct.length);
      return counts;
    },
  };
}

/** A row whose cells cannot be told apart. */
export interface BrokenRow {
  readonly cells: readonly string[];
  readonly reason: string;
  /** The cells are pieces of one line, split without heed to quotation marks. */
  readonly stray: boolean;
}

/** Rows that follow one another and are broken in the same way, counted but not kept: beyond so many (`broken-rows.ts`). */
export interface BrokenRun {
  /** Physical lines of the first and the last. */
  readonly line: number;
  readonly lastLine: number;
  readonly rows: number;
  readonly reason: string;
  /** The first as it stood. */
  readonly first: BrokenRow;
}

/** One file, read whole and unjudged. Blank lines are not rows. */
export interface Source {
  readonly file: string;
  readonly format: 'delimited' | 'parquet';
  readonly encoding: EncodingEvidence | null;
  readonly delimiter: DelimiterEvidence | null;
  /** False where the first line looked like a row and is one; the columns are then numbered. */
  readonly hasHeader: boolean;
  /** Lines above the header that are not part of the table. */
  readonly titles: readonly string[];
  readonly columns: readonly SourceColumn[];
  /** Rows kept: without those of `brokenRuns`. */
  readonly rowCount: number;
  /** Physical line where each row starts (Parquet: the row's number, from 1). */
  readonly lines: Int32Array;
  readonly broken: ReadonlyMap<number, BrokenRow>;
  readonly brokenRuns: readonly BrokenRun[];
}

export interface OpenOptions {
  readonly signal?: AbortSignal;
  /** Share of the file read, 0–1. */
  readonly progress?: (fraction: number) => void;
}

/** A growing list of 32-bit integers. */
export class IntList {
  private values: Int32Array;
  private used = 0;

  /** `expected` are made room for. */
  constructor(expected = 1024) {
    this.values = new Int32Array(Math.max(1, expected));
  }

  push(value: number): void {
    if (this.used === this.values.length) {
      const wider = new Int32Array(this.used * 2);
      wider.set(this.values);
      this.values = wider;
    }
    this.values[this.used++] = value;
  }

  get length(): number {
    return this.used;
  }

  last(): number {
    return this.values[this.used - 1] as number;
  }

  done(): Int32Array {
    return this.values.subarray(0, this.used);
  }
}

/** All rows of the file, those counted only among them. */
export function rowsInFile({ rowCount, brokenRuns }: Source): number {
  return brokenRuns.reduce((sum, { rows }) => sum + rows, rowCount);
}

/** One cell as it stood in the file. */
export function rawCell(column: SourceColumn, row: number): RawCell {
  return column.distinct[column.codes[row] ?? -1] ?? null;
}
