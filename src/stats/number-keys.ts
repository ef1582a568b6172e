export interface Numbered {
  /** For each row the number of its class of alike rows, from 0 in order of appearance; -1 for rows left out. */
  readonly numberOf: Int32Array;
  /** The first row of each class. */
  readonly firstRow: Int32Array;
}

/** Keys from 0 to below this are looked up in an array of that length, others under their digits. */
const MOST_PLACES = 1 << 18;

/**
 * Numbers equal keys alike, from 0 in order of appearance. `mixes`: keys are whole numbers from 0 to below it, or any
 * numbers where it is Infinity. `used` leaves rows out where it is 0.
 */
export function numberKeys(key: Float64Array, mixes: number, used?: ArrayLike<number>): Numbered {
  return mixes <= MOST_PLACES ? lookUpPlaces(key, mixes, used) : lookUpDigits(key, used);
}

function lookUpPlaces(key: ArrayLike<number>, mixes: number, used: ArrayLike<number> | undefined): Numbered {
  const numberOf = new Int32Array(key.length).fill(-1);
  const firstRow = new Int32Array(Math.min(key.length, mixes));
  const table = new Int32Array(mixes).fill(-1);
  let count = 0;
  for (let from = 0; from < key.length; from += STRETCH_ROWS) {
    const to = Math.min(key.length, from + STRETCH_ROWS);
    count = lookUpStretch(key, table, used, numberOf, firstRow, count, from, to);
  }
  return { numberOf, firstRow: firstRow.slice(0, count) };
}

/** Rows looked up by one call: a loop over all, once in a session, is over before the browser has made it quick. */
const STRETCH_ROWS = 4096;

function lookUpStretch(
  key: ArrayLike<number>,
  table: Int32Array,
  used: ArrayLike<number> | undefined,
  numberOf: Int32Array,
  firstRow: Int32Array,
  known: number,
  from: number,
  to: number,
): number {
  let count = known;
  for (let row = from; row < to; row += 1) {
    if (used && used[row] === 0) continue;
    const place = key[row]!;
    if (table[place]! < 0) {
      firstRow[count] = row;
      table[place] = count;
      count += 1;
    }
    numberOf[row] = table[place]!;
  }
  return count;
}

/** A table of numbers at places that follow from the digits of a key, the next ones where that is taken. */
function lookUpDigits(key: Float64Array, used: ArrayLike<number> | undefined): Numbered {
  const numberOf = new Int32Array(key.length).fill(-1);
  const bits = new Int32Array(key.buffer, key.byteOffset, 2 * key.length);
  let numbers = new Int32Array(1 << 12).fill(-1);
  let keys = new Float64Array(numbers.length);
  let firstRow = new Int32Array(numbers.length);
  let count = 0;
  for (let row = 0; row < key.length; row += 1) {
    if (used && used[row] === 0) continue;
    const value = key[row]!;
    const mask = numbers.length - 1;
    let place = spread(bits[2 * row]!, bits[2 * row + 1]!) & mask;
    while (numbers[place]! >= 0 && keys[place] !== value) place = (place + 1) & mask;
    if (numbers[place]! < 0) {
      firstRow[count] = row;
      numbers[place] = count;
      keys[place] = value;
      count += 1;
    }
    numberOf[row] = numbers[place]!;
    if (3 * count < numbers.length) continue;
    numbers = new Int32Array(4 * numbers.length).fill(-1);
    keys = new Float64Array(numbers.length);
    const longer = new Int32Array(numbers.length);
    longer.set(firstRow);
    firstRow = longer;
    for (let number = 0; number < count; number += 1) {
      const first = firstRow[number]!;
      let free = spread(bits[2 * first]!, bits[2 * first + 1]!) & (numbers.length - 1);
      while (numbers[free]! >= 0) free = (free + 1) & (numbers.length - 1);
      numbers[free] = number;
      keys[free] = key[first]!;
    }
  }
  return { numberOf, firstRow: firstRow.slice(0, count) };
}

/** The two halves of a number mixed, so that its last bits serve as a place. */
function spread(low: number, high: number): number {
  const mixed = Math.imul(low, 0x9e3779b1) ^ Math.imul(high, 0x85ebca6b);
  return Math.imul(mixed ^ (mixed >>> 15), 0x2c1b3c6d) >>> 10;
}

/** The same of whole numbers of any sign. */
export function numberIds(ids: ArrayLike<number>, used?: ArrayLike<number>): Numbered {
  let least = 0;
  let most = -1;
  for (let row = 0; row < ids.length; row += 1) {
    if (ids[row]! > most) most = ids[row]!;
    if (ids[row]! < least) least = ids[row]!;
  }
  // Ids are mostly codes themselves: an array serves where it is not much longer than they are.
  const isCode = least === 0 && most < 4 * ids.length + 1024;
  if (!isCode) return numberKeys(new Float64Array(ids), Number.POSITIVE_INFINITY, used);
  return lookUpPlaces(ids, most + 1, used);
}
