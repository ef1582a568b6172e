import { makeRoom } from '../core/let-go.ts';
import { type Numbered, numberKeys } from './number-keys.ts';

/** Several columns at once: a row-major n × width matrix. */
export interface RowBlock {
  readonly matrix: Float64Array;
  readonly width: number;
}

/** One whole number for each row, from 0 to below `mixes`; written over as digits are added. */
interface Keys {
  readonly values: Float64Array;
  readonly mixes: number;
}

/**
 * Numbers rows such that those equal in every column, and no others, share a number; `used` (n values) leaves rows out
 * where it is 0. Each row becomes one whole number, of which every column is a digit: most columns are marks of 0 and 1,
 * days, or codes, and serve as they are; the values of others are numbered first. Errors: a column of another length, a
 * value that is not finite, in rows left out as well.
 */
export function numberAlike(
  columns: readonly (ArrayLike<number> | RowBlock)[],
  n: number,
  used?: ArrayLike<number>,
): Numbered {
  makeRoom(n, 8 * n * (columns.length + 1));
  let keys: Keys = { values: new Float64Array(n), mixes: 1 };
  const blocks = columns.map((column) => blockOf(column, n));
  // Of no rows a column has neither least nor greatest.
  if (n > 0) for (const block of blocks) keys = withBlock(keys, block);
  return numberKeys(keys.values, keys.mixes, used);
}

function blockOf(column: ArrayLike<number> | RowBlock, n: number): RowBlock {
  if ('matrix' in column) {
    const { matrix, width } = column;
    if (matrix.length !== n * width)
      throw new Error(`matrix must hold ${n} × ${width} values: ${matrix.length}`);
    return column;
  }
  if (column.length !== n) throw new Error(`column must be as long as cluster: ${column.length}, ${n}`);
  return { matrix: column instanceof Float64Array ? column : new Float64Array(column), width: 1 };
}

function withBlock(keys: Keys, block: RowBlock): Keys {
  const { least, levels } = wholeNumbers(block);
  const place = new Float64Array(block.width);
  const others: number[] = [];
  let digits = 1;
  for (let j = 0; j < block.width; j += 1) {
    // All alike in it: no digit.
    if (levels[j] === 1) continue;
    if (keys.mixes * digits * levels[j]! <= Number.MAX_SAFE_INTEGER) {
      place[j] = digits;
      digits *= levels[j]!;
    } else others.push(j);
  }
  if (digits > 1) addDigits(keys.values, block, least, place, digits);
  let found: Keys = { values: keys.values, mixes: keys.mixes * digits };
  for (const j of others) found = withValues(found, columnOf(block, j));
  return found;
}

/**
 * Rows looked at column by column while they are near at hand: their values are in the processor's first memories. Each time
 * by a call of its own, since a loop over all rows, once in a session, is over before the browser has made it quick.
 */
const NEAR_ROWS = 256;

/** Of each column the least value, and how many whole numbers lie from it to the greatest: not finite where others do. */
function wholeNumbers({ matrix, width }: RowBlock): { least: Float64Array; levels: Float64Array } {
  const least = new Float64Array(width).fill(Number.POSITIVE_INFINITY);
  const most = new Float64Array(width).fill(Number.NEGATIVE_INFINITY);
  const isWhole = new Uint8Array(width).fill(1);
  const step = NEAR_ROWS * width;
  for (let from = 0; from < matrix.length; from += step) {
    const to = Math.min(matrix.length, from + step);
    for (let j = 0; j < width; j += 1) {
      if (isWhole[j] === 1) lookAtColumn(matrix, width, from + j, to, j, least, most, isWhole);
    }
  }
  return { least, levels: most.map((value, j) => (isWhole[j] ? value - least[j]! + 1 : Number.NaN)) };
}

/** Column j from the place `from` up to `to`. */
function lookAtColumn(
  matrix: Float64Array,
  width: number,
  from: number,
  to: number,
  j: number,
  least: Float64Array,
  most: Float64Array,
  isWhole: Uint8Array,
): void {
  let low = least[j]!;
  let high = most[j]!;
  let whole = true;
  for (let at = from; at < to; at += width) {
    const value = matrix[at]!;
    if (value < low) low = value;
    if (value > high) high = value;
    if (Math.floor(value) !== value) whole = false;
  }
  least[j] = low;
  most[j] = high;
  isWhole[j] = whole ? 1 : 0;
}

/** key := key · digits + Σ (value − least) · place. */
function addDigits(
  key: Float64Array,
  { matrix, width }: RowBlock,
  least: Float64Array,
  place: Float64Array,
  digits: number,
): void {
  for (let from = 0; from < key.length; from += NEAR_ROWS) {
    const to = Math.min(key.length, from + NEAR_ROWS);
    for (let row = from; row < to; row += 1) key[row]! *= digits;
    for (let j = 0; j < width; j += 1) {
      if (place[j]! > 0) addDigit(key, matrix, width, j, least[j]!, place[j]!, from, to);
    }
  }
}

function addDigit(
  key: Float64Array,
  matrix: Float64Array,
  width: number,
  j: number,
  less: number,
  times: number,
  from: number,
  to: number,
): void {
  for (let row = from, at = from * width + j; row < to; row += 1, at += width) {
    key[row]! += (matrix[at]! - less) * times;
  }
}

/** The column with its zeros made of one sign; throws on a value that is not finite. */
function columnOf({ matrix, width }: RowBlock, j: number): Float64Array {
  const column = new Float64Array(matrix.length / width);
  for (let row = 0, at = j; row < column.length; row += 1, at += width) {
    const value = matrix[at]!;
    if (!Number.isFinite(value)) throw new Error(`column must hold finite numbers: ${value} in row ${row}`);
    column[row] = value + 0;
  }
  return column;
}

/** A digit more, for the values of a column of any numbers. */
function withValues({ values, mixes }: Keys, column: Float64Array): Keys {
  const { numberOf, firstRow } = numberKeys(column, Number.POSITIVE_INFINITY);
  const levels = firstRow.length;
  // Where the digits get too many, keys are numbered anew: there are no more of them than rows.
  const short = mixes * levels > Number.MAX_SAFE_INTEGER ? numberKeys(values, mixes) : null;
  const before = short ? short.numberOf : values;
  for (let row = 0; row < column.length; row += 1) values[row] = before[row]! * levels + numberOf[row]!;
  return { values, mixes: (short?.firstRow.length ?? mixes) * levels };
}
