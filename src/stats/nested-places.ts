import { numberIds } from './number-keys.ts';

/** Where rows of units nested in clusters belong: units lie together by cluster, ids ascending. */
export interface NestedPlaces {
  readonly clusterIds: Int32Array;
  readonly unitIds: Int32Array;
  /** Units of cluster g: from clusterStart[g] up to clusterStart[g + 1]. */
  readonly clusterStart: Int32Array;
  /** Which unit each row belongs to. */
  readonly rowUnit: Int32Array;
  /** One row of each unit. */
  readonly unitRow: Int32Array;
}

/** Throws on a unit that lies in two clusters. */
export function placeUnits(cluster: Int32Array, unit: Int32Array): NestedPlaces {
  const { numberOf, firstRow } = numberIds(unit);
  const unitCluster = firstRow.map((row) => cluster[row]!);
  for (let row = 0; row < unit.length; row++) {
    if (cluster[row] !== unitCluster[numberOf[row]!]) {
      throw new Error(`a unit must lie in one cluster: ${unit[row]}`);
    }
  }
  const before = (a: number, b: number) => cluster[a]! - cluster[b]! || unit[a]! - unit[b]!;
  const unitRow = firstRow.every((row, i) => i === 0 || before(firstRow[i - 1]!, row) < 0)
    ? firstRow
    : Int32Array.from(firstRow).sort(before);
  if (unitRow !== firstRow) {
    const place = new Int32Array(unitRow.length);
    for (let i = 0; i < unitRow.length; i++) place[numberOf[unitRow[i]!]!] = i;
    for (let row = 0; row < numberOf.length; row++) numberOf[row] = place[numberOf[row]!]!;
  }
  const starts: number[] = [];
  for (let i = 0; i < unitRow.length; i++) {
    if (i === 0 || cluster[unitRow[i]!] !== cluster[unitRow[i - 1]!]) starts.push(i);
  }
  return {
    clusterIds: Int32Array.from(starts, (i) => cluster[unitRow[i]!]!),
    unitIds: unitRow.map((row) => unit[row]!),
    clusterStart: Int32Array.from([...starts, unitRow.length]),
    rowUnit: numberOf,
    unitRow,
  };
}
