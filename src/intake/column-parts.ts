import type { CodedCells, CodedNumbers } from '../core/table.ts';
import type { ColumnName } from '../herd/dictionary.ts';
import { FEET } from '../herd/vocabularies.ts';
import type { Codes } from './code-list.ts';
import { type CodedValues, numbersOf } from './read-column.ts';
import type { Places, Taken } from './taken.ts';
import type { Value } from './values/parsed.ts';

/** A column as several reads have it: how to put the values of some rows where they stand in a piece. */
export type ColumnParts =
  | {
      readonly type: 'text';
      /** Distinct texts of all reads; codes below are places among them, -1 where nothing is recorded. */
      readonly levels: readonly string[];
      fill(places: Places, codes: Int32Array): void;
      /** The same by the codes of their cells, without a look at any; null where the rows do not stand together in one file. */
      coded(places: readonly Places[]): CodedCells<string> | null;
    }
  | {
      readonly type: 'boolean';
      fill(places: Places, values: (boolean | null)[]): void;
      coded(places: readonly Places[]): CodedCells<boolean> | null;
    }
  | {
      readonly type: 'number' | 'day';
      fill(places: Places, values: Float64Array): void;
      coded(places: readonly Places[]): CodedNumbers | null;
    };

/** More distinct values than this are handed on one by one: a piece would carry too many that it does not hold. */
const MOST_LEVELS = 1 << 14;

/** A distinct cell's value by the cell's code, in the form in which the column is put together. */
type Known<T> = readonly (readonly ({ readonly known: T; readonly coded: CodedValues } | null)[])[];

export function columnParts(
  taking: readonly Taken[],
  name: ColumnName,
  type: ColumnParts['type'],
): ColumnParts {
  if (name === 'foot') return footParts(taking);
  if (type === 'text') {
    const levels = new Map<string, number>();
    const codeOf = (value: Value): number => {
      if (value === null) return -1;
      const code = levels.get(String(value)) ?? levels.size;
      levels.set(String(value), code);
      return code;
    };
    const known = knownBy(taking, name, (values) => Int32Array.from(values, codeOf));
    const texts = knownBy(taking, name, textsOf);
    return {
      type,
      levels: [...levels.keys()],
      fill: (places, codes) => putCodes(known, places, codes),
      coded: (places) => codedIn(texts, places),
    };
  }
  if (type === 'boolean') {
    const known = knownBy(taking, name, (values) => values as (boolean | null)[]);
    return {
      type,
      fill: (places, values) => putAny(known, places, values),
      coded: (places) => codedIn(known, places),
    };
  }
  const known = knownBy(taking, name, numbersOf);
  return {
    type,
    fill: (places, values) => putNumbers(known, places, values),
    coded: (places) => codedIn(known, places),
  };
}

const textsOf = (values: readonly Value[]): (string | null)[] =>
  values.map((value) => (value === null ? null : String(value)));

function codedIn<T extends { readonly length: number }>(
  parts: Known<T>,
  [places, ...more]: readonly Places[],
): { readonly codes: Codes; readonly levels: T } | null {
  const part = places && more.length === 0 ? parts[places.taken]?.[places.foot] : null;
  if (!places || !part || places.at !== null || part.known.length > MOST_LEVELS) return null;
  const { rows } = places;
  const first = rows[0];
  const isWhole = first !== undefined && (rows.at(-1) as number) - first === rows.length - 1;
  return isWhole
    ? { codes: part.coded.codes.subarray(first, first + rows.length), levels: part.known }
    : null;
}

/** Feet are known of every candidate. */
function footParts(taking: readonly Taken[]): ColumnParts {
  return {
    type: 'text',
    levels: FEET,
    fill({ taken, at, candidates }, codes) {
      const { read } = taking[taken] as Taken;
      if (read.kind !== 'visits') return;
      const { feet } = read;
      if (at === null)
        for (let k = 0; k < candidates.length; k++) codes[k] = feet[candidates[k] as number] as number;
      else
        for (let k = 0; k < at.length; k++) codes[at[k] as number] = feet[candidates[k] as number] as number;
    },
    coded([places, ...more]) {
      const read = places && more.length === 0 && places.at === null ? taking[places.taken]?.read : null;
      const first = places?.candidates[0];
      if (read?.kind !== 'visits' || !places || first === undefined) return null;
      const { candidates } = places;
      const isWhole = (candidates.at(-1) as number) - first === candidates.length - 1;
      return isWhole ? { codes: read.feet.subarray(first, first + candidates.length), levels: FEET } : null;
    },
  };
}

function knownBy<T>(
  taking: readonly Taken[],
  name: ColumnName,
  make: (values: readonly Value[]) => T,
): Known<T> {
  const made = new Map<CodedValues, { readonly known: T; readonly coded: CodedValues }>();
  return taking.map(({ read }) =>
    FEET.map((_, foot) => {
      const coded = read.column(name, foot);
      if (!coded) return null;
      const same = made.get(coded);
      if (same) return same;
      const part = { known: make(coded.values), coded };
      made.set(coded, part);
      return part;
    }),
  );
}

// Three of one body: a loop that meets arrays of one kind only takes a fraction of the time.
function putNumbers(parts: Known<Float64Array>, { taken, foot, at, rows }: Places, into: Float64Array): void {
  const part = parts[taken]?.[foot];
  if (!part) return;
  const { codes } = part.coded;
  const { known } = part;
  if (at === null)
    for (let k = 0; k < rows.length; k++) into[k] = known[codes[rows[k] as number] as number] as number;
  else
    for (let k = 0; k < rows.length; k++)
      into[at[k] as number] = known[codes[rows[k] as number] as number] as number;
}

function putCodes(parts: Known<Int32Array>, { taken, foot, at, rows }: Places, into: Int32Array): void {
  const part = parts[taken]?.[foot];
  if (!part) return;
  const { codes } = part.coded;
  const { known } = part;
  if (at === null)
    for (let k = 0; k < rows.length; k++) into[k] = known[codes[rows[k] as number] as number] as number;
  else
    for (let k = 0; k < rows.length; k++)
      into[at[k] as number] = known[codes[rows[k] as number] as number] as number;
}

function putAny<T>(parts: Known<readonly T[]>, { taken, foot, at, rows }: Places, into: T[]): void {
  const part = parts[taken]?.[foot];
  if (!part) return;
  const { codes } = part.coded;
  const { known } = part;
  for (let k = 0; k < rows.length; k++) {
    into[at === null ? k : (at[k] as number)] = known[codes[rows[k] as number] as number] as T;
  }
}
