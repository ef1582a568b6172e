/** One foot between two looks: from and to (days), clear or not at each (0, 1), its horse and itself. */
export type Look = readonly [
  from: number,
  to: number,
  before: number,
  after: number,
  horse: number,
  foot: number,
];

/** Looks of a herd without groups, in the columns that case trends read. */
export function looksFrom(rows: readonly Look[], horses: number) {
  return {
    from: Float64Array.from(rows, (row) => row[0]),
    to: Float64Array.from(rows, (row) => row[1]),
    before: Uint8Array.from(rows, (row) => row[2]),
    after: Uint8Array.from(rows, (row) => row[3]),
    horse: Int32Array.from(rows, (row) => row[4]),
    foot: Int32Array.from(rows, (row) => row[5]),
    horses,
    levels: ['all'],
    level: new Int32Array(rows.length),
    tooLong: 0,
  };
}
