import type { Column } from '../core/table.ts';
import { type Coded, placedInto } from './groups.ts';

/** What becomes of a column that is handed over piece by piece. `whole`: whole numbers of 32 bits, none missing. */
export type FillAs =
  | { readonly kind: 'number' | 'mark' | 'whole' | 'text' }
  /** Numbers that stand for `levels`, in their order; any other for one that is none of them. */
  | { readonly kind: 'level'; readonly levels: readonly string[] };

/** A mark that is missing. */
export const NO_MARK = -128;

type Filled = Float64Array | Int32Array | Int8Array | Coded;

/** Where the rows of a piece go: the first at `from`, or what `place` says of that and those after it. */
export interface Where {
  readonly from: number;
  readonly place: Int32Array | null;
}

/** A column of so many rows, as narrow as its values allow, from pieces of which each is let go of before the next. */
interface Filling {
  take(piece: Column, where: Where): void;
  /** Null where a level was none of those listed. */
  done(): Filled | null;
}

export function fillColumn(as: FillAs, rowCount: number): Filling {
  switch (as.kind) {
    case 'number':
      return ofNumbers(new Float64Array(rowCount));
    case 'whole':
      return ofNumbers(new Int32Array(rowCount));
    case 'mark':
      return ofMarks(new Int8Array(rowCount));
    case 'level':
      return ofLevels(as.levels, new Int32Array(rowCount));
    case 'text':
      return ofTexts(new Int32Array(rowCount));
  }
}

function numbersOf(column: Column): Float64Array {
  if (column.type !== 'number' && column.type !== 'day')
    throw new Error(`a piece must hold numbers: ${column.type}`);
  return column.values;
}

function ofNumbers(found: Float64Array | Int32Array): Filling {
  return {
    take(piece, { from, place }) {
      const values = numbersOf(piece);
      if (!place) found.set(values, from);
      else for (let i = 0; i < values.length; i++) found[place[from + i]!] = values[i]!;
    },
    done: () => found,
  };
}

function ofMarks(found: Int8Array): Filling {
  return {
    take(piece, { from, place }) {
      const values = numbersOf(piece);
      for (let i = 0; i < values.length; i++) {
        const value = values[i]!;
        found[place ? place[from + i]! : from + i] = Number.isNaN(value) ? NO_MARK : value;
      }
    },
    done: () => found,
  };
}

function ofLevels(levels: readonly string[], codes: Int32Array): Filling {
  const sorted = [...levels].sort();
  const code = Int32Array.from(levels, (level) => sorted.indexOf(level));
  let isStrange = false;
  return {
    take(piece, { from, place }) {
      const values = numbersOf(piece);
      for (let i = 0; i < values.length; i++) {
        const value = values[i]!;
        isStrange ||= value >= code.length;
        codes[place ? place[from + i]! : from + i] = Number.isNaN(value) ? -1 : code[value]!;
      }
    },
    done: () => (isStrange ? null : { levels: sorted, codes }),
  };
}

function ofTexts(codes: Int32Array): Filling {
  const known = new Map<string, number>();
  const codeOf = (text: string | null): number => {
    if (text === null) return -1;
    const code = known.get(text);
    if (code !== undefined) return code;
    known.set(text, known.size);
    return known.size - 1;
  };
  return {
    take(piece, { from, place }) {
      if (piece.type !== 'text') throw new Error(`a piece must hold texts: ${piece.type}`);
      const { coded } = piece;
      const code = coded ? Int32Array.from(coded.levels, codeOf) : Int32Array.from(piece.values, codeOf);
      const n = coded ? coded.codes.length : code.length;
      for (let i = 0; i < n; i++) {
        const at = coded ? coded.codes[i]! : i;
        codes[place ? place[from + i]! : from + i] = at < 0 ? -1 : code[at]!;
      }
    },
    done() {
      const levels = [...known.keys()].sort();
      const place = new Int32Array(levels.length);
      levels.forEach((level, k) => {
        place[known.get(level)!] = k;
      });
      return { levels, codes: placedInto(codes, codes, place) };
    },
  };
}
